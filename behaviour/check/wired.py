"""What the file says of wires, switches and times, judged without a run: filters, cuts, guards."""

from collections.abc import Callable, Iterable, Iterator

from behaviour.check.asking import Asking
from behaviour.check.verdicts import Told, Verdicts, finding
from behaviour.counted import MOST_MICROS, counted_times
from behaviour.explore.guards import atoms
from behaviour.findings import Finding, Label
from behaviour.model import Becomes, Input, Model, Output, Role, Time, Unknown
from behaviour.semantics import NotKnownError
from behaviour.wording import time_words

BOUNCES = 5_000
"""How long a contact bounces, in microseconds: an edge needs a filter of at least that."""
BOUNCING = ("switch", "button")
TURNS_OR_BURNS = ("motor", "servo", "heater")
PROTECTS = (Role.GUARD, Role.STOP, Role.HOLD_TO_RUN)


def check_wired(asking: Asking) -> Told:
    """Check what can be read off the file alone."""
    verdicts: list[Verdicts] = []
    found: list[Finding] = []
    for name, look in LOOKS:
        verdict = Verdicts(name)
        verdicts.append(verdict)
        for ask in look(asking.model):

            def told(ask: Callable[[], Finding | None] = ask) -> bool:
                each = ask()
                if each is not None:
                    found.append(each)
                return each is not None

            verdict.decide(told)
    return Told(tuple(each.verdict() for each in verdicts), tuple(found))


Asks = Iterator[Callable[[], Finding | None]]
"""Single questions, each with its finding or none; what one needs and is not known leaves it."""


# --- Edges --------------------------------------------------------------------------------------


def _unfiltered_edges(model: Model) -> Asks:
    edges: dict[tuple[str, str], list[Becomes]] = {}
    for region in model.regions:
        for way in region.transitions():
            for atom in atoms(way.when):
                if isinstance(atom, Becomes) and atom.name in model.input:
                    edges.setdefault((atom.name, atom.value), []).append(atom)
    for (name, value), asked in edges.items():
        item = model.input[name]
        if item.kind in BOUNCING:
            yield lambda i=item, v=value, a=asked: _unfiltered(i, v, a)  # type: ignore[misc]


def _unfiltered(item: Input, value: str, asked: list[Becomes]) -> Finding | None:
    time = item.steady[item.values.index(value)]
    if _micros(time) >= BOUNCES:
        return None
    return finding(
        "unfiltered-edge",
        f"`{item.name} becomes {value}` counts after {time_words(time)}, and its contact bounces "
        "for longer",
        item.span,
        "one press can count as several",
        subject=(item.name, value),
        hint=f"`steady: 20 ms` for `{item.name}`, or at least 5 ms for `{value}`",
        related=tuple(Label(each.span, "waits for the change") for each in asked[:1]),
    )


# --- Wires --------------------------------------------------------------------------------------


def _broken_wires(model: Model) -> Asks:
    for item in model.inputs:
        if item.is_protective:
            yield lambda i=item: _broken_wire(i)  # type: ignore[misc]


def _broken_wire(item: Input) -> Finding | None:
    if item.unplugged is None or item.unplugged != item.safe:
        return None
    return finding(
        "broken-wire-reads-safe",
        f"with its wire cut `{item.name}` reads `{item.safe}`, its safe value",
        item.span,
        "a cut wire goes unnoticed, and nobody is protected",
        hint=f"a contact that is made while `{item.name}` is `{item.safe}`, so that a cut wire "
        "reads the other value",
    )


def _contradictions(model: Model) -> Asks:
    for item in model.inputs:
        yield lambda i=item: _contradiction(i)  # type: ignore[misc]


def _contradiction(item: Input) -> Finding | None:
    cut = _reads_cut(item)
    if cut is None or item.unplugged in (None, cut):
        return None
    return finding(
        "wiring-contradicts",
        f"`{item.name}` is said to read `{item.unplugged}` with a cut wire, and its wiring makes "
        f"that `{cut}`",
        item.span,
        f"through its pull {item.wiring.pull}, a cut wire reads `{cut}`",
        hint=f"leave `unplugged` out, or pull it the other way if `{item.unplugged}` is wanted",
    )


def _reads_cut(item: Input) -> str | None:
    """Give what a cut wire reads through the pull resistor, where the wiring says it."""
    wiring = item.wiring
    if wiring.pull not in ("up", "down"):
        return None
    if wiring.levels:
        side = "above" if wiring.pull == "up" else "below"
        return next((level.value for level in wiring.levels if level.side == side), None)
    if wiring.low is None or len(item.values) != len(("low", "high")):
        return None
    other = next(value for value in item.values if value != wiring.low)
    return other if wiring.pull == "up" else wiring.low


# --- Guards -------------------------------------------------------------------------------------


def _unguarded(model: Model) -> Asks:
    if any(item.role in PROTECTS for item in model.inputs):
        return
    for output in model.outputs:
        if output.hazard and output.kind in TURNS_OR_BURNS and _is_driven(model, output):
            yield lambda o=output: finding(  # type: ignore[misc]
                "unguarded",
                f"the {o.kind} `{o.name}` is driven, and no input protects people from it",
                o.span,
                "nothing stops this for a person",
                hint="an input with `role: guard`, `stop` or `hold_to_run`; or `hazard: no` where "
                "it can hurt nobody",
            )


def _is_driven(model: Model, output: Output) -> bool:
    return any(
        setting.output == output.name and setting.value != output.rest
        for region in model.regions
        for state in region.states
        for setting in (*state.sets, *(each for cue in state.cues for each in cue.sets))
    )


# --- Times --------------------------------------------------------------------------------------


def _overflows(model: Model) -> Asks:
    for each in counted_times(model):
        yield lambda e=each: (  # type: ignore[misc]
            finding(
                "timer-overflow",
                f"{e.what} is {time_words(e.time)}, longer than the firmware can count",
                e.span,
                "its clock begins again after 49.7 days",
                hint="a time of less than 49 days, or a counter that counts shorter ones",
                place=e.place,
            )
            if _micros(e.time) > MOST_MICROS
            else None
        )


def _micros(time: Time) -> int:
    if isinstance(time, Unknown):
        raise NotKnownError(time)
    return time


LOOKS: Iterable[tuple[str, Callable[[Model], Asks]]] = (
    ("unfiltered-edge", _unfiltered_edges),
    ("broken-wire-reads-safe", _broken_wires),
    ("wiring-contradicts", _contradictions),
    ("unguarded", _unguarded),
    ("timer-overflow", _overflows),
)
