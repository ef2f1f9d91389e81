"""Writes the loop's part of NAME.py: the prop, power-up, a step, and what is told of it."""

from behaviour.model import Model
from codegen.expressions import IN_PYTHON, laid_out
from codegen.module import Input, Module, Moved, Output, Region
from codegen.python.pywriter import WIDTH, PyWriter
from codegen.python.regions import (
    Tables,
    branch,
    drive_function,
    interlocks_call,
    look_calls,
    owns_outputs,
    region_functions,
)
from codegen.python.spelling import place_name


def prop_class(out: PyWriter, module: Module, model: Model, tables: dict[str, Tables]) -> None:
    """Write the prop: everything that changes."""
    with out.block("class Prop"):
        out.line('"""The whole prop. Times are counted in loops."""')
        out.line()
        with out.block("def __init__(self)"):
            out.line("self.last_ms = 0  # when the last loop began")
            out.line("self.upsets = 0  # how often a state was found that cannot be")
            for item in module.inputs:
                out.comment(*item.type.comment)
                out.statement(f"self.{item.member} = {_input(item)}")
            for output in module.outputs:
                out.comment(*output.type.comment)
                out.statement(f"self.{output.member} = {output.rest}")
            for output, moved in module.movers:
                out.comment(f"Whether a move of {output.word} has ended; steps to begin now.")
                out.line(f"self.{moved.done} = False")
                out.line(f"self.{moved.steps} = 0")
            for counter in module.counters:
                out.statement(f"self.{counter.member} = {counter.begins}", counter.comment)
            for region in module.regions:
                _region(out, region, tables[region.word], model)
    out.line()
    out.line()


def _input(item: Input) -> str:
    steady = ", ".join(f"{value}: {_time_of(loops)}" for value, loops in item.steady)
    presumed = "" if item.presumed is None else f", ({item.presumed[0]}, {item.presumed[1]})"
    return f"Input({{{steady}}}{presumed})"


def _time_of(loops: str) -> str:
    return loops.removeprefix("in_loops(").removesuffix(")")


def _region(out: PyWriter, region: Region, tables: Tables, model: Model) -> None:
    written = model.region[region.word]
    leaf = written.leaf(written.begins)
    around = tuple(written.states[number] for number in written.path(leaf)[:-1])
    begins = place_name(around, written.states[leaf], 0)
    parts = ["its state"]
    parts += ["how long it has been in it"] if region.timer else []
    parts += ["how long in states around it"] if region.timers else []
    parts += ["times drawn at random"] if region.drawn else []
    out.comment(f"Region {region.word}: {', '.join(parts)}.")
    out.statement(f'self.{region.member} = Region({tables.states}, {tables.ways}, "{begins}")')
    for member in (*timers(region), *region.drawn):
        out.line(f"self.{member} = 0")


def timers(region: Region) -> list[str]:
    return [timer for timer in (region.timer, *region.timers) if timer]


def behaviour(out: PyWriter, module: Module) -> None:
    """Write everything that a loop does, and power-up."""
    if module.draws_random:
        with out.function("draw(least, most)", "Draw a whole number at random, both ends too."):
            out.line("return random.randint(least, most)")
    about = (
        "Count a region in a state that there is not. From here on everything rests until power-up."
    )
    with out.function("upset(prop)", about):
        out.line("prop.upsets += 1")
    for region in module.regions:
        region_functions(out, region)
    _reading(out, module)
    _moves(out, module)
    _looking(out, module)
    for region in module.regions:
        if owns_outputs(region):
            drive_function(out, region)
    _driving(out, module)
    _power_up(out, module)
    _step(out, module)
    _trace(out, module)


def _reading(out: PyWriter, module: Module) -> None:
    with out.function("first_reading(prop, board)", "Read all inputs for the first time."):
        for item in module.inputs:
            out.line(f'prop.{item.member}.first(board.inputs["{item.word}"].read())')
        if not module.inputs:
            out.line("pass")
    with out.function("read_inputs(prop, board, loops)", "Read all inputs, so many loops later."):
        for item in module.inputs:
            out.line(f'prop.{item.member}.read(board.inputs["{item.word}"].read(), loops)')
        if not module.inputs:
            out.line("pass")
    counted = [timer for region in module.regions for timer in timers(region)]
    with out.function("count_time(prop, loops)", "Let time go by in all states."):
        for timer in counted:
            out.line(f"prop.{timer} += loops")
        if not counted:
            out.line("pass")


def _moves(out: PyWriter, module: Module) -> None:
    """Write when a motor is moved by distance, and how the end of that is read."""
    for output, moved in module.movers:
        about = f"Tell whether {output.word} is in a state that moves it by distance."
        with out.function(f"{moved.function}(prop)", about):
            lines = laid_out(moved.states, WIDTH - 11, WIDTH - 8, IN_PYTHON)
            if len(lines) == 1:
                out.line(f"return {lines[0]}")
            else:
                for line in ("return (", *(f"    {each}" for each in lines), ")"):
                    out.line(line)
    about = "Read whether moves have ended; one that has counts as done until its state is left."
    if module.movers:
        with out.function("read_moves(prop, board)", about):
            for output, moved in module.movers:
                out.line(f"prop.{moved.steps} = 0")
                ended = f'prop.{moved.done} or board.outputs["{output.word}"].is_done()'
                out.statement(f"prop.{moved.done} = {moved.function}(prop) and ({ended})")


def _looking(out: PyWriter, module: Module) -> None:
    with out.function("see(prop)", "Give what regions see of each other: how the loop found it."):
        members = {region.member for region in module.regions}
        seen = (
            f"{name}=prop.{name}{'.state' if name in members else ''}" for _, name in module.seen
        )
        out.statement(f"return SimpleNamespace({', '.join(seen)})")
    with out.function("look(prop)", "Look at every region once; their order does not matter."):
        out.line("seen = see(prop)")
        for region in module.regions:
            look_calls(out, region)


def _driving(out: PyWriter, module: Module) -> None:
    about = "Give every output what its region sets; all rests once a state was upset."
    with out.function("drive_outputs(prop, board)", about):
        driving = [region for region in module.regions if owns_outputs(region)]
        if driving:
            with out.block("if prop.upsets == 0"):
                for region in driving:
                    out.line(f"{region.drive_function}(prop)")
        if module.outputs:
            with out.block("if prop.upsets > 0"):
                for output in module.outputs:
                    out.line(f"prop.{output.member} = {output.rest}")
        for output in module.outputs:
            _tell(out, output, output.moved)
        if not module.outputs:
            out.line("pass")


def _tell(out: PyWriter, output: Output, moved: Moved | None) -> None:
    to = f'board.outputs["{output.word}"]'
    drive = f"{to}.drive(prop.{output.member}, prop.last_ms)"
    if moved is None:
        out.line(drive)
        return
    with out.block(f"if prop.upsets == 0 and not prop.{moved.done} and {moved.function}(prop)"):
        out.statement(f"{to}.move(prop.{output.member}, prop.{moved.steps}, prop.last_ms)")
    with out.block("else"):
        out.line(drive)


def _power_up(out: PyWriter, module: Module) -> None:
    about = (
        "Do loop 0: read, and enter the states that the prop begins in, or what an interlock asks "
        "for instead. The outputs of `board` are at rest already."
    )
    with out.function("power_up(prop, board, now_ms)", about):
        out.line("prop.last_ms = now_ms")
        out.line("first_reading(prop, board)")
        if any(region.interlocks and region.interlocks.sees for region in module.regions):
            out.line("seen = see(prop)")
        for region in module.regions:
            _begin(out, region)
        if any(region.interlock_acts and region.interlocks for region in module.regions):
            out.comment("What an interlock does to a counter it does not do at power-up.")
            for counter in module.counters:
                out.line(f"prop.{counter.member} = {counter.begins}")
        out.line("drive_outputs(prop, board)")


def _begin(out: PyWriter, region: Region) -> None:
    if region.interlocks is None:
        for text in region.begin:
            out.statement(text)
        return
    call = interlocks_call(region.interlocks)
    if not region.begin and not region.redraw:
        out.line(call)
        return
    with out.block(f"if {call}"):
        for each in region.redraw:
            branch(out, each)
        if not region.redraw:
            out.line("pass")
    if region.begin:
        with out.block("else"):
            for text in region.begin:
                out.statement(text)


def _step(out: PyWriter, module: Module) -> None:
    about = (
        "Do one loop if LOOP_MS have gone by since the last, else nothing. A loop that comes late "
        "counts all the time that went by."
    )
    with out.function("step(prop, board, now_ms)", about):
        out.line("loops = (now_ms - prop.last_ms) // LOOP_MS")
        with out.block("if loops < 1"):
            out.line("return")
        out.line("prop.last_ms += loops * LOOP_MS")
        out.line("read_inputs(prop, board, loops)")
        out.line("count_time(prop, loops)")
        if module.movers:
            out.line("read_moves(prop, board)")
        for region in module.regions:
            with out.block(f"if prop.upsets == 0 and prop.{region.member}.is_upset()"):
                out.line("upset(prop)")
        with out.block("if prop.upsets == 0"):
            out.line("look(prop)")
        out.line("drive_outputs(prop, board)")


def _trace(out: PyWriter, module: Module) -> None:
    with out.function("traced(prop)", "Give all that the trace tells of, by name."):
        out.line("return {")
        with out.indented():
            for item in module.inputs:
                out.line(f'"{item.word}": prop.{item.member}.now,')
            for region in module.regions:
                out.line(f'"{region.word}": prop.{region.member}.state,')
            for output in module.outputs:
                out.line(f'"{output.word}": prop.{output.member},')
            for counter in module.counters:
                out.line(f'"{counter.word}": prop.{counter.member},')
            out.line('"upsets of states": prop.upsets,')
        out.line("}")
    about = "Print a line for each change since `told`: milliseconds, what changed, what it is now."
    with out.function("trace(prop, now_ms, told)", about):
        with out.block("if not told"):
            out.line(f'print(f"{{now_ms}} {module.prefix} {{FINGERPRINT}}", flush=True)')
            out.line('told["upsets of states"] = 0')
        each = out.block("for name, value in traced(prop).items()")
        with each, out.block("if told.get(name) != value"):
            out.line("told[name] = value")
            out.line('print(f"{now_ms} {name} {value}", flush=True)')
