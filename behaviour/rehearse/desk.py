"""The desk of a rehearsal: what each key does, and how time goes on and back. It is pure.

It knows neither a terminal nor a clock: keys and loops come in, the next desk goes out. Going back
keeps what was played; it is played again in going on, until somebody does something else.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from string import ascii_lowercase

from behaviour.findings import Beat
from behaviour.model import Model
from behaviour.rehearse.stage import CannotMoveError, Moment, Stage, Timing, boot_loops
from behaviour.semantics import NotKnownError
from behaviour.story import LoopView, has_changed

INPUT_KEYS = "1234567890" + ascii_lowercase
"""The key of each input, in the order of the file; all else is not for inputs."""

SPEEDS = (0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0)
TIMINGS = {"late": Timing(1.0), "middle": Timing(0.5), "early": Timing(0.0), "random": Timing(None)}

KEYS = (
    ("space", "run, stop"),
    (".", "one loop on"),
    (",", "one loop back"),
    ("> <", "to the next change, to the last"),
    ("+ -", "faster, slower"),
    ("M", "when the mechanism moves"),
    ("R", "restart"),
    ("Q", "end"),
)
FURTHEST = 3000
"""Loops that `>` plays at most in looking for a change."""


@dataclass(frozen=True, slots=True)
class Desk:
    """A rehearsal at one moment. `at` is the loop shown; `wishes` are for the next one.

    `note` is what there is to say of the last key; `is_over` when it was the one that ends.
    """

    stage: Stage
    moments: tuple[Moment, ...]
    at: int = 0
    wishes: Mapping[int, str] = field(default_factory=dict)
    runs: bool = False
    speed: int = SPEEDS.index(1.0)
    note: str = ""
    is_over: bool = False

    @property
    def model(self) -> Model:
        return self.stage.model

    @property
    def now(self) -> Moment:
        return self.moments[self.at]

    @property
    def moves(self) -> str:
        """Name when the mechanism moves."""
        same = (name for name, timing in TIMINGS.items() if timing.share == self.stage.timing.share)
        return next(same, f"{self.stage.timing.share}")

    def views(self) -> tuple[LoopView, ...]:
        """Give what was played up to the moment shown."""
        return tuple(moment.view for moment in self.moments[: self.at + 1])


def open_desk(model: Model, timing: Timing) -> Desk:
    """Switch the prop on. Raises NotKnownError where the file leaves open what that needs."""
    stage = Stage(model, timing)
    return Desk(stage, (stage.opening(),))


def press(desk: Desk, key: str) -> Desk:
    """Do what a key is for."""
    desk = replace(desk, note="")
    place = INPUT_KEYS.find(key) if key else -1
    if 0 <= place < len(desk.model.inputs):
        return _moved(desk, place)
    does = _DOES.get(key)
    return replace(desk, note=f"`{key}` is no key here") if does is None else does(desk)


def go_on(desk: Desk, loops: int = 1) -> Desk:
    """Let so many loops go by, until what comes is open."""
    for _ in range(loops):
        desk = _onward(desk, Beat.RUNS)
        if desk.note:
            return replace(desk, runs=False)
    return desk


# --- Time ---------------------------------------------------------------------------------------


def _onward(desk: Desk, beat: Beat) -> Desk:
    if beat is Beat.RUNS and not desk.wishes and desk.at + 1 < len(desk.moments):
        return replace(desk, at=desk.at + 1)
    try:
        moment = desk.stage.onward(desk.now, desk.wishes, beat)
    except CannotMoveError as problem:
        return replace(desk, wishes={}, note=str(problem))
    except NotKnownError as problem:
        return replace(desk, note=f"what happens next is open: {problem}")
    moments = (*desk.moments[: desk.at + 1], moment)
    return replace(desk, moments=moments, at=desk.at + 1, wishes={})


def _back(desk: Desk, at: int) -> Desk:
    if desk.at == 0:
        return replace(desk, runs=False, note="this is power-up: nothing was before")
    return replace(desk, at=max(at, 0), wishes={}, runs=False)


def _to_next_change(desk: Desk) -> Desk:
    """Go on to where something changes; where nothing does for long, stay here."""
    began = desk
    for _ in range(FURTHEST):
        before, desk = desk, _onward(desk, Beat.RUNS)
        if desk.note or has_changed(before.now.view, desk.now.view):
            return desk
    return replace(began, note=f"nothing changes in the next {FURTHEST:,} loops by itself")


def _to_last_change(desk: Desk) -> Desk:
    at = desk.at - 1
    while at > 0 and not has_changed(desk.moments[at - 1].view, desk.moments[at].view):
        at -= 1
    return _back(desk, at)


def _restarted(desk: Desk) -> Desk:
    """Switch the controller off and on; what was wished happens as it goes off."""
    for beat in (*(Beat.IS_DOWN,) * boot_loops(desk.model), Beat.STARTS):
        desk = _onward(desk, beat)
    return desk


# --- Hands --------------------------------------------------------------------------------------


def _moved(desk: Desk, place: int) -> Desk:
    """Move an input to its next value; where the mechanism forces it, ask it to move now."""
    item, held = desk.model.inputs[place], desk.now.hands[place]
    may = desk.stage.may_read(desk.now, place)
    if not may:
        at = desk.stage.forced(desk.now)[place]
        mechanism = desk.model.mechanism[at]
        state = mechanism.states[desk.now.stands[at].state].name
        words = f"`{item.name}` is held by `{mechanism.name}`, which cannot leave `{state}` now"
        return replace(desk, note=words)
    order = [value for value in item.values if value == held or value in may]
    was = desk.wishes.get(place, held)
    value = order[(order.index(was) + 1) % len(order)]
    others = {at: wish for at, wish in desk.wishes.items() if at != place}
    return replace(desk, wishes=others if value == held else {**others, place: value})


def _other_timing(desk: Desk) -> Desk:
    names = list(TIMINGS)
    at = names.index(desk.moves) if desk.moves in names else -1
    timing = replace(TIMINGS[names[(at + 1) % len(names)]], seed=desk.stage.timing.seed)
    kept = desk.moments[: desk.at + 1]
    return replace(desk, stage=Stage(desk.model, timing), moments=kept)


# --- Keys ---------------------------------------------------------------------------------------


def _run_or_stop(desk: Desk) -> Desk:
    return replace(desk, runs=not desk.runs)


def _faster(desk: Desk) -> Desk:
    return replace(desk, speed=min(desk.speed + 1, len(SPEEDS) - 1))


def _slower(desk: Desk) -> Desk:
    return replace(desk, speed=max(desk.speed - 1, 0))


def _end(desk: Desk) -> Desk:
    return replace(desk, runs=False, is_over=True)


_DOES: Mapping[str, Callable[[Desk], Desk]] = {
    " ": _run_or_stop,
    ".": lambda desk: go_on(replace(desk, runs=False)),
    ",": lambda desk: _back(desk, desk.at - 1),
    ">": lambda desk: _to_next_change(replace(desk, runs=False)),
    "<": _to_last_change,
    "+": _faster,
    "=": _faster,
    "-": _slower,
    "M": _other_timing,
    "R": _restarted,
    "Q": _end,
}
