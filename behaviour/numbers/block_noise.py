"""Bounce and interference: the filters that keep them out, and what these cost in reaction."""

from collections.abc import Iterator
from dataclasses import replace

from behaviour.model import (
    And,
    Becomes,
    Condition,
    HeldFor,
    Input,
    Is,
    Micros,
    Model,
    Never,
    Not,
    Or,
    Output,
    Rule,
    Unknown,
    Whenever,
)
from behaviour.numbers.bounces import BOUNCES
from behaviour.numbers.figures import Figures, Missing
from behaviour.numbers.filtering import filter_loops_for, late_by
from behaviour.numbers.results import (
    Bar,
    Bars,
    Block,
    Lacking,
    Result,
    Table,
    assumed,
    from_file,
    result,
)
from behaviour.numbers.stopping import Stop, stop

_INTERFERENCE = (
    "interference of a motor lasts as long as the motor turns: where it leaves no break, no filter "
    "is long enough, and the wiring must be better"
)
_FIRST_EDGE = (
    "a guard or stop acts on the first edge of its unsafe value, so that bounce costs it nothing; "
    "its safe value is believed late"
)
SAMPLED = "a disturbance of b is seen in floor(b / T) + 1 loops at most"


def noise_block(model: Model) -> Block:
    """Advise filters for what is known of bounce and interference, and tell what they cost."""
    results: list[Result | Lacking] = []
    for item in model.inputs:
        results += _advised(model, item)
    return Block(
        name="noise",
        about="how long a reading must hold before it counts",
        results=tuple(results),
        tables=(*_margins(model), _known_bounces()),
        charts=_budgets(model),
        remarks=(_INTERFERENCE, _FIRST_EDGE),
    )


# --- Filters ------------------------------------------------------------------------------------


def with_advised_filters(model: Model) -> Model:
    """Give the model with each filter at least as long as advised."""
    return replace(
        model,
        inputs=tuple(
            replace(item, steady=tuple(_longer(model, item, value) for value in item.values))
            for item in model.inputs
        ),
    )


def _longer(model: Model, item: Input, value: str) -> Micros | Unknown:
    there = item.steady[item.values.index(value)]
    if isinstance(there, Unknown):
        return there
    return max(there, advised_loops(model, item, value) * model.loop)


def advised_loops(model: Model, item: Input, value: str) -> int:
    """Count the loops that a value must hold so that neither bounce nor interference passes."""
    return filter_loops_for(_disturbed(item, value), model.loop / 1000)


def _disturbed(item: Input, value: str) -> float:
    """Give the longest disturbance in milliseconds; a guard's unsafe value counts at once."""
    figures = Figures(item.name, item.noise)
    is_unsafe = item.is_protective and value != item.safe
    kinds = ("interference",) if is_unsafe else ("bounce", "interference")
    found = [figures.measured(kind, "ms") for kind in kinds]
    return max((each for each in found if not isinstance(each, Missing)), default=0.0)


def _advised(model: Model, item: Input) -> Iterator[Result | Lacking]:
    if not item.noise:
        return
    figures, loop = Figures(item.name, item.noise), model.loop / 1000
    each = assumed("T", loop, "ms", "a loop", "the file")
    for value, there in zip(item.values, item.steady, strict=True):
        long = _disturbed(item, value)
        if not long or isinstance(there, Unknown):
            continue
        kind = next(kind for kind, _ in item.noise if figures.measured(kind, "ms") == long)
        loops, now = advised_loops(model, item, value), model.loops_up(there)
        disturbance = from_file(figures, kind, "ms", "b", f"{kind} of {item.name}")
        advice = f"the file has {there / 1000:g} ms"
        if now < loops:
            advice += f", too short; the change costs {(loops - now) * loop:g} ms of reaction"
        yield result(
            f"steady of `{item.name}` for `{value}`",
            loops * loop,
            "ms",
            "(floor(b / T) + 1) * T",
            [disturbance, each],
            SAMPLED,
            advice=advice,
            weight="doubtful" if now < loops else "plain",
        )
        counted = assumed("n", float(max(loops, now)), "", "loops of filter", "worked out")
        yield result(
            f"longest until `{item.name} is {value}` counts",
            late_by(max(loops, now), loop),
            "ms",
            "(n + 1) * T",
            [counted, each],
            SAMPLED,
        )


def _known_bounces() -> Table:
    return Table(
        title="how long contacts were seen to bounce, in ms",
        head=("switch", "least", "most", "source"),
        rows=tuple(
            (each.kind, f"{each.least:g}", f"{each.most:g}", each.source) for each in BOUNCES
        ),
    )


# --- What is left of the rules' times -----------------------------------------------------------


def _margins(model: Model) -> Iterator[Table]:
    rows = []
    advised = with_advised_filters(model)
    for rule in model.rules:
        limit = _limit(rule)
        if limit is None or not list(_sensed(model, rule)):
            continue
        left = [limit - _sensing(each, rule) for each in (model, advised)]
        rows.append((rule.name, f"{limit / 1000:g}", *(f"{each / 1000:g}" for each in left)))
    if rows:
        yield Table(
            title="what sensing leaves of a rule's time, in ms; whether it holds, `check` says",
            head=("rule", "allowed", "left now", "left with the filters advised"),
            rows=tuple(rows),
        )


def _limit(rule: Rule) -> Micros | None:
    match rule.requirement:
        case Never(limit=int(limit)) | Whenever(limit=int(limit)):
            return limit
        case _:
            return None


def _sensing(model: Model, rule: Rule) -> Micros:
    """Give the longest sensing that a rule counts in: a filter and the loop that looks."""
    steady = [
        item.steady[item.values.index(value)]
        for name, value in _sensed(model, rule)
        for item in (model.input[name],)
    ]
    loops = [model.loops_up(each) for each in steady if isinstance(each, int)]
    return (max(loops, default=0) + 1) * model.loop


def _sensed(model: Model, rule: Rule) -> Iterator[tuple[str, str]]:
    left = rule.conditions()[0]
    for name, value in _values(model, left):
        if name in model.input:
            yield name, value


def _values(model: Model, condition: Condition) -> Iterator[tuple[str, str]]:
    match condition:
        case Is(name=name, values=values, negated=negated) if name in model.input:
            for value in model.input[name].values:
                if (value in values) != negated:
                    yield name, value
        case Becomes(name=name, value=value) | HeldFor(name=name, value=value):
            yield name, value
        case Not(part=part):
            yield from _values(model, part)
        case And(parts=parts) | Or(parts=parts):
            for part in parts:
                yield from _values(model, part)
        case _:
            pass


# --- Where the reaction goes --------------------------------------------------------------------


def _budgets(model: Model) -> tuple[Bars, ...]:
    """Lay out, for each guard and stop and each motor, what the allowed reaction is used up by."""
    if not isinstance(model.reaction, int):
        return ()
    bars = []
    for item in model.inputs:
        if item.is_protective:
            drives = {drive.output: drive for drive in model.drives}
            for output in model.outputs:
                if output.hazard and output.kind == "motor":
                    drive = drives.get(output.name)
                    stopped = None if drive is None else stop(drive)
                    time = stopped.time if isinstance(stopped, Stop) else None
                    bars.append(_bar(model, item, output, time))
    if not bars:
        return ()
    return (Bars(name="reaction", title="where the reaction goes, in ms", bars=tuple(bars)),)


def _bar(model: Model, item: Input, output: Output, stopping: float | None) -> Bar:
    loop = model.loop / 1000
    unsafe = [
        steady
        for value, steady in zip(item.values, item.steady, strict=True)
        if value != item.safe and isinstance(steady, int)
    ]
    parts = [("filter", model.loops_up(max(unsafe, default=0)) * loop), ("loop", loop)]
    says = f"{item.name}, {output.name}"
    if stopping is None:
        says += " (its stopping is not known)"
    else:
        parts.append(("stopping", stopping * 1000))
    allowed = model.reaction if isinstance(model.reaction, int) else 0
    return Bar(says=says, parts=tuple(parts), allowed=allowed / 1000)
