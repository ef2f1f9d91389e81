"""The role checks: what guards, stops and starts ask of each hazard, in every run.

Each is asked in the healthy world and with any one movement stalled, or with the faults of the
worksheet. What a limit stops, or an `unknown`, is not decided.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from behaviour.check.asking import Asking, where
from behaviour.check.driving import away_in
from behaviour.check.judging import Sights
from behaviour.check.pointing import (
    Pointed,
    point_at_hazard,
    point_at_reset,
    point_at_self_start,
    point_at_start,
)
from behaviour.check.roles.alongside import first_breach, shown
from behaviour.check.roles.asked import asked
from behaviour.check.roles.beating import Beating
from behaviour.check.roles.drawn import quiets_of
from behaviour.check.roles.opening import left_of_reaction, opening
from behaviour.check.roles.otherwise import Otherwise
from behaviour.check.roles.plainly import (
    counts_when_released,
    rests_while_active,
    starts_as_asked,
)
from behaviour.check.roles.released import rests_released
from behaviour.check.roles.resetting import OnPress
from behaviour.check.roles.seeing import (
    active,
    asking_for,
    every_hazard,
    hazards,
    with_role,
)
from behaviour.check.roles.starting import may_count_held
from behaviour.check.roles.turning import interlocks, restarted, turned_on
from behaviour.check.roles.unheld import LATER, PERHAPS, HeldStart, Unheld
from behaviour.check.verdicts import Told, Verdicts, finding
from behaviour.check.watching import BREACH
from behaviour.explore.cone import cone
from behaviour.explore.guards import atoms
from behaviour.explore.search import LimitError
from behaviour.explore.situations import Question, Situation, Watch
from behaviour.faults import Fault, Swapped
from behaviour.findings import Finding, Run
from behaviour.model import Condition, Input, InState, Model, Output, Role
from behaviour.semantics import NotKnownError
from behaviour.story import LoopView, replay
from behaviour.wording import condition_words
from behaviour.world.circuit import Circuit


@dataclass(frozen=True, slots=True)
class Asks:
    """One question of a role check. `watch` raises NotKnownError where the file leaves it open."""

    output: Output | None
    inputs: tuple[Input, ...]
    watch: Callable[[], Watch] | None
    message: str
    point: Callable[[LoopView], Pointed]
    regions: tuple[str, ...] = ()
    find: Callable[[Asking], Run | None] | None = None
    """Finds a run in another way than by the watch. Raises LimitError."""
    about: tuple[object, ...] = ()
    """What else it hangs on than when the hazard is away from rest."""
    is_plain: Callable[[], bool] = lambda: False
    """Tells whether the file shows it to be kept with nothing wrong."""


Questions = Callable[[Model], Iterator[Asks]]


def check_roles(asking: Asking) -> Told:
    """Make every role check that asks for runs."""
    return ask_roles(asking, tuple(CHECKS))


def ask_roles(asking: Asking, names: Iterable[str]) -> Told:
    """Make some of the role checks; a file without such a role or hazard keeps them."""
    findings: list[Finding] = []
    verdicts = [_ask(asking, name, findings) for name in names]
    return Told(tuple(each.verdict() for each in verdicts), tuple(findings))


def _ask(asking: Asking, name: str, findings: list[Finding]) -> Verdicts:
    """Make a role check; what is shown of a hazard holds of all that are away just when it is."""
    verdict = Verdicts(name)
    held: set[object] = set()
    reads_file = not asking.faults and not asking.model.unknowns
    for alike in asked_alike(asking.model, name):
        apart = {_what(asking, each): each for each in alike}
        held.update(what for what, each in apart.items() if reads_file and each.is_plain())
        left = [each for what, each in apart.items() if what not in held]
        if len(left) > 1 and _all_hold(asking, tuple(left)):
            continue
        for each in alike:
            what = _what(asking, each)

            def look(each: Asks = each, what: object = what) -> bool:
                found = ask_one(asking, name, each)
                if found is None:
                    held.add(what)
                else:
                    findings.append(found)
                return found is not None

            if what not in held:
                verdict.decide(look)
    return verdict


def _what(asking: Asking, asks: Asks) -> object:
    """Give something equal for questions of a check that have one answer.

    Those are what is asked alike of hazards that are away from rest in the same loops.
    """
    if asks.output is None or asking.faults:
        return asks
    return away_in(asking.model, asks.output), asks.inputs, asks.about


def ask_one(asking: Asking, name: str, asks: Asks) -> Finding | None:
    """Ask one question of a check. Raises NotKnownError and LimitError."""
    if asks.find is None:
        if name in BY_ONE_INPUT and _is_swapped(asking.faults):
            raise PLUGS
        run = search(asking, (asks,), is_judged=name not in BY_ONE_INPUT)
    else:
        run = asks.find(asking)
    return None if run is None else role_finding(asking.model, name, asks, run)


PLUGS = LimitError("plugs", "not shown with plugs exchanged")

BY_ONE_INPUT = ("held-start-counts", "reset-on-press", "runs-unheld")
"""Checks that ask what the controller would have done had one input read otherwise."""


def _is_swapped(faults: Iterable[Fault]) -> bool:
    return any(isinstance(each, Swapped) for each in faults)


def _on_their_plugs(asking: Asking, items: Iterable[Input]) -> Iterator[Input]:
    """List the inputs whose plugs are exchanged with those of some: what these are told."""
    wires = Circuit(asking.model, asking.faults).wires
    for item in items:
        yield asking.model.inputs[wires[asking.model.input_index[item.name]]]


HEALTHY_ONLY = ("restarts-by-itself", "guard-closing-starts", "reset-restarts", "mode-starts")
"""Checks of what starts by itself, which are not shown with something wrong (D-058)."""


def role_checks_of(model: Model) -> tuple[str, ...]:
    """Name the role checks that ask anything of a file, and that the worksheet can ask too."""
    return tuple(
        name
        for name, asked in CHECKS.items()
        if name not in HEALTHY_ONLY and any(True for _ in asked(model))
    )


def asked_alike(model: Model, name: str) -> Iterator[tuple[Asks, ...]]:
    """Group the questions of a check that look at the same inputs and region.

    One search shows all of them.
    """
    groups: dict[object, list[Asks]] = {}
    for each in CHECKS[name](model):
        key: object = each
        if each.find is None and each.output is not None:
            key = (model.owner.get(each.output.name), each.inputs)
        groups.setdefault(key, []).append(each)
    yield from map(tuple, groups.values())


def _all_hold(asking: Asking, asked: tuple[Asks, ...]) -> bool:
    try:
        return search(asking, asked) is None
    except (NotKnownError, LimitError):
        return False


def search(asking: Asking, asked: tuple[Asks, ...], *, is_judged: bool = False) -> Run | None:
    """Find a run in which any of some questions is answered with a breach.

    With `is_judged` their watches look at no more than this loop and the last. Raises NotKnownError
    and LimitError.
    """
    seen = asking_for(*asked[0].inputs, *_on_their_plugs(asking, asked[0].inputs))
    watches = tuple(each.watch() for each in asked if each.watch is not None)
    question = Question(watches=watches, conditions=seen, may_stall=True, begins_anew=True)
    outputs = dict.fromkeys(each.output.name for each in asked if each.output is not None)
    anywhere = tuple(InState(each, 0) for asks in asked for each in asks.regions)
    conditions: tuple[Condition, ...] = (*seen, *anywhere)
    return asking.reach(
        question,
        lambda _: _is_breach,
        conditions=conditions,
        outputs=outputs,
        judge=partial(_broken, asking.model, watches) if is_judged else None,
    )


def _broken(
    model: Model, watches: Iterable[Watch], run: Run, views: Sequence[LoopView]
) -> Run | None:
    """Give a run up to the first loop in which a watch breaks, if any does."""
    loops = shown(Sights(model, views))
    broken = [loop for watch in watches if (loop := first_breach(watch, loops)) is not None]
    return run.until(min(broken)) if broken else None


def _is_breach(at: Situation) -> bool:
    return BREACH in at.watch


def role_finding(model: Model, name: str, asks: Asks, run: Run) -> Finding:
    """Give the finding of a run that breaks a check."""
    pointed = asks.point(replay(model, run)[-1])
    return finding(
        name,
        asks.message,
        pointed.at.span,
        pointed.at.text,
        run=run,
        hint=pointed.hint,
        related=pointed.related,
        place=pointed.place or _where(model, asks, run),
    )


def asks_of(model: Model, name: str) -> Iterator[Asks]:
    """Give the questions of a check that a watch answers, looking at this loop and the last."""
    if name not in BY_ONE_INPUT:
        yield from (each for each in CHECKS[name](model) if each.find is None)


def _where(model: Model, asks: Asks, run: Run) -> tuple[str, str] | None:
    """Say where the region of what is asked ends up; nowhere for a hazard that nothing drives."""
    region = asks.regions[0] if asks.output is None else model.owner.get(asks.output.name)
    return None if region is None else where(model, region, run)


# --- What is asked ------------------------------------------------------------------------------


def _openings(model: Model) -> Iterator[Asks]:
    for (at, output), guard in _pairs(model, Role.GUARD, of=every_hazard):
        for value in guard.values:
            if value == guard.safe:
                continue

            def watch(
                at: int = at,
                output: Output = output,
                guard: Input = guard,
                value: str = value,
            ) -> Watch:
                allowed = left_of_reaction(model, guard, value)
                return opening(output, at, guard, value, allowed)

            yield Asks(
                output,
                (guard,),
                watch,
                f"`{output.name}` can go on, or start, while `{guard.name}` is `{value}`",
                lambda last, o=output, g=guard, v=value: point_at_hazard(model, o, g, v, last),  # type: ignore[misc]
                about=(value,),
                is_plain=partial(_is_shut_off, model, output, guard, value),
            )


def _is_shut_off(model: Model, output: Output, guard: Input, value: str) -> bool:
    """Tell whether a hazard rests whenever a guard is told not safe, and that is soon enough."""
    is_soon = left_of_reaction(model, guard, value) >= 0
    return is_soon and rests_while_active(model, output, guard)


def _beatings(model: Model) -> Iterator[Asks]:
    for (at, output), stop in _pairs(model, Role.STOP, of=every_hazard):
        value = next(value for value in stop.values if value != stop.safe)
        yield Asks(
            output,
            (stop,),
            lambda o=output, a=at, s=stop: Beating(o, a, active(s)),  # type: ignore[misc]
            f"`{output.name}` can be away from rest while `{stop.name}` is active",
            lambda last, o=output, s=stop, v=value: point_at_hazard(model, o, s, v, last),  # type: ignore[misc]
            is_plain=partial(rests_while_active, model, output, stop),
        )


def _unasked(model: Model) -> Iterator[Asks]:
    starts = _items(model, Role.START, Role.HOLD_TO_RUN)
    ends = _items(model, Role.STOP, Role.RESET, Role.GUARD)
    if not starts:
        return
    words = " or ".join(f"`{item.name}`" for item in starts)
    for at, output in every_hazard(model):
        yield Asks(
            output,
            (*starts, *ends),
            lambda o=output, a=at: asked(o, a, model.owner.get(o.name, ""), starts, ends),  # type: ignore[misc]
            f"`{output.name}` can start without a fresh press of {words}",
            lambda last, o=output: point_at_start(model, o, starts, last),  # type: ignore[misc]
            is_plain=partial(starts_as_asked, model, output, starts, ends),
        )


def _turned(*roles: Role) -> Questions:
    """Ask of each hazard whether turning an input of some roles starts it by itself."""

    def ask(model: Model) -> Iterator[Asks]:
        for (_, output), item in _pairs(model, *roles):
            for value in item.values:
                if item.safe not in (None, value):
                    continue
                yield Asks(
                    output,
                    (item,),
                    None,
                    f"`{output.name}` can start by itself once `{item.name}` becomes `{value}`",
                    lambda last, o=output, i=item: point_at_self_start(model, o, i.span, last),  # type: ignore[misc]
                    find=partial(turned_on, output=output, item=item, after=value),
                    about=(value,),
                )

    return ask


def _restarts(model: Model) -> Iterator[Asks]:
    for _, output in hazards(model):
        for way in interlocks(model, output):
            words = condition_words(model, way.when) if way.when is not None else ""
            yield Asks(
                output,
                (),
                None,
                f"`{output.name}` starts again by itself once `{words}` is over",
                lambda last, o=output, w=way: point_at_self_start(model, o, w.span, last),  # type: ignore[misc]
                find=partial(restarted, output=output, interlock=way),
                about=(way.number,),
            )


def _unheld(model: Model) -> Iterator[Asks]:
    for (at, output), button in _pairs(model, Role.HOLD_TO_RUN):
        number = model.input_index[button.name]
        yield Asks(
            output,
            (button,),
            lambda o=output, a=at, b=button, n=number: Unheld(  # type: ignore[misc]
                o, a, model.owner[o.name], b, n, Otherwise(n)
            ),
            f"`{output.name}` can run on after `{button.name}` is let go",
            lambda last, o=output, b=button: point_at_hazard(model, o, b, b.values[0], last),  # type: ignore[misc]
        )


def _held(model: Model) -> Iterator[Asks]:
    resets = with_role(model, Role.RESET)
    for (at, output), start in _pairs(model, Role.START):
        for reset in (None, *resets):
            known = () if reset is None else (reset[1],)
            yield Asks(
                output,
                (start, *known),
                None,
                f"`{output.name}` can start because `{start.name}` is held since "
                + ("power-up" if reset is None else f"before `{reset[1].name}`"),
                lambda last, o=output, s=start: point_at_start(model, o, [s], last),  # type: ignore[misc]
                find=partial(_held_start, output=output, at=at, start=start, reset=reset),
            )


def _held_start(
    asking: Asking, output: Output, at: int, start: Input, reset: tuple[int, Input] | None
) -> Run | None:
    """Look for what a held start may have started, and then for what it surely has."""
    model = asking.model
    moves = any(
        _names(movement.during, start.name)
        for mechanism in model.mechanism
        for movement in mechanism.movements()
    )
    if not (moves and _is_swapped(asking.faults)) and not _may_count_held(asking, output, start):
        return None
    if _is_swapped(asking.faults):
        raise PLUGS
    number, owner = model.input_index[start.name], model.owner[output.name]
    seen = asking_for(start) if reset is None else asking_for(start, reset[1])
    regions = frozenset(cone(model, seen, (), (output.name,)).model.region_index)
    watch = HeldStart(output, at, owner, start, number, reset, regions, Otherwise(number))
    question = Question(watches=(watch,), conditions=seen, may_stall=True, begins_anew=True)
    for wanted in ((BREACH, PERHAPS, LATER), (BREACH, PERHAPS), (BREACH,)):
        run = asking.reach(
            question,
            lambda _, w=wanted: lambda at: at.watch[0] in w,  # type: ignore[misc]
            conditions=seen,
            outputs=(output.name,),
        )
        if run is None and LATER in wanted:
            return None
        if run is not None and rests_released(model, run, output, number, reset):
            return run
    if run is None:
        raise LimitError("what was held", f"not shown whether `{start.name}` made it start")
    return run


def _may_count_held(asking: Asking, output: Output, start: Input) -> bool:
    """Tell whether an output may start by a held start, or by one let go and not pressed anew.

    How it is held is what the controller is told, and so is all that regions choose by. Whatever is
    wrong with lines, it is told what it might as well be told by people on sound ones, for nothing
    is made here of what mechanisms force. So it is with plugs exchanged, but where a mechanism goes
    by the start: then it hangs on the plugs which inputs tell of that.
    """
    known, key = asking.common.known, ("held", output.name, start.name)
    if key not in known:
        known[key] = all(may_count_held(each, start) for each in quiets_of(asking, output))
    return bool(known[key])


def _on_press(model: Model) -> Iterator[Asks]:
    for number, reset in with_role(model, Role.RESET):
        for region in model.regions:
            if any(_names(way.when, reset.name) for way in region.transitions()):
                yield Asks(
                    None,
                    (reset,),
                    lambda r=region, i=reset, n=number: OnPress(r.name, i, n, Otherwise(n)),  # type: ignore[misc]
                    f"`{reset.name}` counts in `{region.name}` as soon as it is pressed",
                    lambda last, r=region, i=reset: point_at_reset(model, r, i, last),  # type: ignore[misc]
                    (region.name,),
                    is_plain=partial(counts_when_released, region, reset),
                )


def _names(condition: Condition | None, name: str) -> bool:
    return any(not isinstance(a, InState) and a.name == name for a in atoms(condition))


def _pairs(
    model: Model, *roles: Role, of: Callable[[Model], tuple[tuple[int, Output], ...]] = hazards
) -> Iterator[tuple[tuple[int, Output], Input]]:
    for hazard in of(model):
        for item in _items(model, *roles):
            yield hazard, item


def _items(model: Model, *roles: Role) -> tuple[Input, ...]:
    return tuple(item for _, item in with_role(model, *roles))


CHECKS: dict[str, Questions] = {
    "guard-open-moves": _openings,
    "stop-is-beaten": _beatings,
    "starts-unasked": _unasked,
    "restarts-by-itself": _restarts,
    "guard-closing-starts": _turned(Role.GUARD),
    "held-start-counts": _held,
    "reset-restarts": _turned(Role.RESET, Role.STOP),
    "reset-on-press": _on_press,
    "mode-starts": _turned(Role.MODE),
    "runs-unheld": _unheld,
}
