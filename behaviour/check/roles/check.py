"""The role checks: what guards, stops and starts ask of each hazard, in every run.

Each is asked in the healthy world and with any one movement stalled, or with the faults of the
worksheet. What a limit stops, or an `unknown`, is not decided.
"""

from collections.abc import Iterable, Iterator, Sequence
from functools import partial

from behaviour.check.asking import Asking, where
from behaviour.check.driving import away_in
from behaviour.check.judging import Sights
from behaviour.check.roles.alongside import first_breach, shown
from behaviour.check.roles.held import PLUGS, is_swapped
from behaviour.check.roles.questions import CHECKS, Asks
from behaviour.check.roles.seeing import asking_for
from behaviour.check.verdicts import Told, Verdicts, finding
from behaviour.check.watching import BREACH
from behaviour.explore.budget import LimitError
from behaviour.explore.situations import Question, Situation, Watch
from behaviour.findings import Finding, Run
from behaviour.model import Condition, Input, InState, Model
from behaviour.semantics import NotKnownError
from behaviour.story import LoopView, replay
from behaviour.world.circuit import Circuit


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
        if name in BY_ONE_INPUT and is_swapped(asking.faults):
            raise PLUGS
        run = search(asking, (asks,), is_judged=name not in BY_ONE_INPUT)
    else:
        run = asks.find(asking)
    return None if run is None else role_finding(asking.model, name, asks, run)


BY_ONE_INPUT = ("held-start-counts", "reset-on-press", "runs-unheld")
"""Checks that ask what the controller would have done had one input read otherwise."""


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
