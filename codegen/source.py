"""Writes NAME.c: the behaviour, with one switch for each region."""

from codegen.banner import banner, fingerprint_check, sealed
from codegen.cwriter import WIDTH, CWriter
from codegen.expressions import laid_out
from codegen.module import Module, Output, Region, identifiers
from codegen.source_inputs import filters, read_call
from codegen.source_regions import (
    begin_calls,
    drive_function,
    look_calls,
    owns_outputs,
    region_functions,
)


def source(module: Module) -> str:
    """Give the text of the behaviour."""
    out = CWriter()
    banner(out, module, "the behaviour", *([module.about] if module.about else []))
    for file in (f"{module.prefix}.h", f"{module.prefix}_board.h", f"{module.prefix}_settings.h"):
        out.line(f'#include "{file}"')
    out.line()
    fingerprint_check(out, module)
    out.line()
    body = _body(module)
    _helpers(out, module, identifiers([body]))
    return sealed(out.text() + "\n" + body)


def _body(module: Module) -> str:
    out = CWriter()
    filters(out, module)
    _predicates(out, module)
    _count_time(out, module)
    _upset(out, module)
    for region in module.regions:
        region_functions(out, module, region)
    _check(out, module)
    _see(out, module)
    _look(out, module)
    _moves(out, module)
    for region in module.regions:
        drive_function(out, module, region)
    _outputs(out, module)
    _counters(out, module)
    _power_up(out, module)
    _step(out, module)
    _accessors(out, module)
    return out.text()


def _helpers(out: CWriter, module: Module, used: frozenset[str]) -> None:
    if "LOOPS" in used:
        loop = f"{module.upper}_LOOP_MS"
        out.comment("A time in loops, rounded up.")
        out.line("#define LOOPS(ms) \\")
        out.line(f"    (((ms) / {loop}) \\")
        out.line(f"    + ((((ms) % {loop}) != 0u) ? 1u : 0u))")
        out.line()
    out.line("#define FOREVER 0xFFFFFFFFu")
    out.line()
    if module.seen:
        out.comment("What regions see of each other: how things stood as the loop began.")
        with out.block(f"struct {module.prefix}_seen", "};"):
            for kind, member in module.seen:
                out.statement(f"{kind} {member};")
        out.line()
    out.comment("Count on, up to FOREVER and never round.")
    with out.function("static uint32_t longer(uint32_t loops, uint32_t more)"):
        out.line("const uint32_t sum = loops + more;")
        out.line()
        out.line("return (sum < more) ? FOREVER : sum;")
    if "lasted" in used:
        with out.function("static bool lasted(uint32_t loops, uint32_t needed)"):
            out.line("return loops >= needed;")


def _predicates(out: CWriter, module: Module) -> None:
    for region in module.regions:
        for predicate in region.predicates:
            out.comment(predicate.comment)
            with out.function(f"static bool {predicate.name}({region.type.type} state)"):
                first, *rest = (f"(state == {name})" for name in predicate.enumerators)
                lines = [f"return {first}", *(f"    || {test}" for test in rest)]
                lines[-1] += ";"
                for line in lines:
                    out.line(line)


def _timers(region: Region) -> list[str]:
    return [timer for timer in (region.timer, *region.timers) if timer]


def _count_time(out: CWriter, module: Module) -> None:
    timers = [timer for region in module.regions for timer in _timers(region)]
    if not timers:
        return
    with out.function(f"static void count_time(struct {module.prefix} *prop, uint32_t loops)"):
        for timer in timers:
            out.statement(f"prop->{timer} = longer(prop->{timer}, loops);")


def _upset(out: CWriter, module: Module) -> None:
    out.comment(
        "A region is in no state that there is: memory has been upset. It is counted, and from "
        "here on everything rests until power-up."
    )
    with out.function(f"static void upset(struct {module.prefix} *prop)"):
        out.line("prop->upsets = longer(prop->upsets, 1u);")


def _look(out: CWriter, module: Module) -> None:
    out.comment(
        "Look at every region once. What they see of each other is how the loop found it, so that "
        "their order does not matter."
        if module.seen
        else "Look at every region once."
    )
    with out.function(f"static void look(struct {module.prefix} *prop)"):
        if module.seen:
            out.line(f"const struct {module.prefix}_seen seen = see(prop);")
            out.line()
        for region in module.regions:
            look_calls(out, region)


def _see(out: CWriter, module: Module) -> None:
    if not module.seen:
        return
    kind = f"struct {module.prefix}_seen"
    with out.function(f"static {kind} see(const struct {module.prefix} *prop)"):
        out.line(f"{kind} seen;")
        out.line()
        for _, member in module.seen:
            out.line(f"seen.{member} = prop->{member};")
        out.line("return seen;")


def _check(out: CWriter, module: Module) -> None:
    out.comment("Find a state that cannot be, before anything is done because of it.")
    with out.function(f"static void check_states(struct {module.prefix} *prop)"):
        for region in module.regions:
            last = region.type.enumerators[-1].name
            found, most = f"(unsigned int)prop->{region.member}", f"> (unsigned int){last}"
            if out.depth + len(f"if ({found} {most}) {{") <= WIDTH:
                out.line(f"if ({found} {most}) {{")
            else:
                out.continued([f"if ({found}", most], ") {")
            with out.indented():
                out.line("upset(prop);")
            out.line("}")


def _outputs(out: CWriter, module: Module) -> None:
    with out.function(f"static void rest(struct {module.prefix} *prop)"):
        for output in module.outputs:
            out.statement(f"prop->{output.member} = {output.rest};")
        if not module.outputs:
            out.line("(void)prop;")
    with out.function(f"static void tell_board(const struct {module.prefix} *prop)"):
        for output in module.outputs:
            _tell(out, output)
        if not module.outputs:
            out.line("(void)prop;")
    with out.function(f"static void drive_outputs(struct {module.prefix} *prop)"):
        driving = [region for region in module.regions if owns_outputs(region)]
        if driving:
            with out.block("if (prop->upsets == 0u)"):
                for region in driving:
                    out.line(f"{region.drive_function}(prop);")
        with out.block("if (prop->upsets != 0u)"):
            out.line("rest(prop);")
        out.line("tell_board(prop);")


def _tell(out: CWriter, output: Output) -> None:
    drive = f"{output.board_drive}(prop->{output.member});"
    if output.moved is None:
        out.statement(drive)
        return
    moved = output.moved
    tests = ["(prop->upsets == 0u)", f"!prop->{moved.done}", f"{moved.function}(prop)"]
    out.open_if(tests)
    with out.indented(), out.block(f"if (prop->{moved.steps} != 0u)"):
        out.statement(f"{moved.board_move}(prop->{output.member}, prop->{moved.steps});")
    out.line("} else {")
    with out.indented():
        out.statement(drive)
    out.line("}")


def _moves(out: CWriter, module: Module) -> None:
    """Write when a motor is moved by distance, and how the end of that is read."""
    for output, moved in module.movers:
        out.comment(f"Tell whether {output.word} is in a state that moves it by distance.")
        with out.function(f"static bool {moved.function}(const struct {module.prefix} *prop)"):
            first, *rest = laid_out(moved.states, WIDTH - 12, WIDTH - 8)
            lines = [f"return {first}", *(f"    {each}" for each in rest)]
            lines[-1] += ";"
            if not any("prop->" in line for line in lines):
                out.line("(void)prop;")
            for line in lines:
                out.line(line)
    if not module.movers:
        return
    out.comment("A move that has ended counts as done until its state is left.")
    with out.function(f"static void read_moves(struct {module.prefix} *prop)"):
        for _, moved in module.movers:
            out.line(f"prop->{moved.steps} = 0u;")
            with out.block(f"if (!{moved.function}(prop))", "} else {"):
                out.line(f"prop->{moved.done} = false;")
            with out.indented(), out.block(f"if (!prop->{moved.done})"):
                out.line(f"prop->{moved.done} = {moved.board_done}();")
            out.line("}")


def _counters(out: CWriter, module: Module) -> None:
    if not module.counters:
        return
    with out.function(f"static void begin_counters(struct {module.prefix} *prop)"):
        for counter in module.counters:
            out.line(f"prop->{counter.member} = {counter.begins};")


def _power_up(out: CWriter, module: Module) -> None:
    prefix = module.prefix
    with out.function(f"void {prefix}_power_up(struct {prefix} *prop, uint32_t now_ms)"):
        sees = any(region.interlocks and region.interlocks.sees for region in module.regions)
        if sees:
            out.line(f"struct {prefix}_seen seen;")
            out.line()
        out.line("prop->last_ms = now_ms;")
        out.line("prop->upsets = 0u;")
        out.line()
        out.comment("All outputs rest before anything is read.")
        out.line("rest(prop);")
        for _, moved in module.movers:
            out.line(f"prop->{moved.done} = true;")
            out.line(f"prop->{moved.steps} = 0u;")
        out.line(f"{prefix}_board_begin();")
        out.line("tell_board(prop);")
        out.line()
        if module.inputs:
            out.line("first_reading(prop);")
        if module.counters:
            out.line("begin_counters(prop);")
        for region in module.regions:
            out.statement(f"prop->{region.member} = {region.begins};")
            for member in (*_timers(region), *region.drawn):
                out.line(f"prop->{member} = 0u;")
        for _, moved in module.movers:
            out.line(f"prop->{moved.done} = false;")
        out.line()
        if sees:
            out.line("seen = see(prop);")
        for region in module.regions:
            begin_calls(out, region)
        if any(region.interlock_acts and region.interlocks for region in module.regions):
            out.comment("What an interlock does to a counter it does not do at power-up.")
            out.line("begin_counters(prop);")
        out.line("drive_outputs(prop);")


def _step(out: CWriter, module: Module) -> None:
    prefix, loop = module.prefix, f"{module.upper}_LOOP_MS"
    with out.function(f"void {prefix}_step(struct {prefix} *prop, uint32_t now_ms)"):
        out.comment("Right across the rollover, since the difference is unsigned too.")
        out.statement(f"const uint32_t loops = (now_ms - prop->last_ms) / {loop};")
        out.line()
        with out.block("if (loops > 0u)"):
            out.statement(f"prop->last_ms += loops * {loop};")
            if module.inputs:
                out.line(read_call(module))
            if any(_timers(region) for region in module.regions):
                out.line("count_time(prop, loops);")
            if module.movers:
                out.line("read_moves(prop);")
            with out.block("if (prop->upsets == 0u)"):
                out.line("check_states(prop);")
            with out.block("if (prop->upsets == 0u)"):
                out.line("look(prop);")
            out.line("drive_outputs(prop);")


def _accessors(out: CWriter, module: Module) -> None:
    regions = [(item.type.type, item.accessor, item.member) for item in module.regions]
    outputs = [(item.type.type, item.accessor, item.member) for item in module.outputs]
    for kind, accessor, member in (*regions, *outputs):
        with out.function(f"{kind} {accessor}(const struct {module.prefix} *prop)"):
            out.line(f"return prop->{member};")
