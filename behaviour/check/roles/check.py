"""The role checks: what guards, stops and starts ask of each hazard, in every run.

Each is asked in the healthy world and with any one movement stalled, or with the faults of the
worksheet. What a limit stops, or an `unknown`, is not decided.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from behaviour.check.asking import Asking, Told, Verdicts, finding, where
from behaviour.check.pointing import Pointed, point_at_hazard, point_at_start
from behaviour.check.roles.asked import asked
from behaviour.check.roles.beating import Beating
from behaviour.check.roles.opening import left_of_reaction, opening
from behaviour.check.roles.seeing import active, asking_for, hazards, with_role
from behaviour.check.watching import BREACH
from behaviour.explore.search import LimitError
from behaviour.explore.situations import Question, Situation, Watch
from behaviour.findings import Finding, Run
from behaviour.model import Input, Model, Output, Role
from behaviour.semantics import NotKnownError
from behaviour.story import LoopView, replay


@dataclass(frozen=True, slots=True)
class Asks:
    """One question of a role check. `watch` raises NotKnownError where the file leaves it open."""

    output: Output
    inputs: tuple[Input, ...]
    watch: Callable[[], Watch]
    message: str
    point: Callable[[LoopView], Pointed]


Questions = Callable[[Model], Iterator[Asks]]


def check_roles(asking: Asking) -> Told:
    """Make every role check that asks for runs."""
    return ask_roles(asking, tuple(CHECKS))


def ask_roles(asking: Asking, names: Iterable[str]) -> Told:
    """Make some of the role checks; a file without such a role or hazard keeps them."""
    verdicts: list[Verdicts] = []
    findings: list[Finding] = []
    for name in names:
        verdict = Verdicts(name)
        for alike in _alike(asking.model, CHECKS[name](asking.model)):
            if len(alike) > 1 and _all_hold(asking, alike):
                continue
            for each in alike:

                def look(name: str = name, each: Asks = each) -> bool:
                    run = _search(asking, (each,))
                    if run is not None:
                        findings.append(_finding(asking.model, name, each, run))
                    return run is not None

                verdict.decide(look)
        verdicts.append(verdict)
    return Told(tuple(each.verdict() for each in verdicts), tuple(findings))


def role_checks_of(model: Model) -> tuple[str, ...]:
    """Name the role checks that ask anything of a file."""
    return tuple(name for name, asked in CHECKS.items() if any(True for _ in asked(model)))


def _alike(model: Model, asked: Iterable[Asks]) -> Iterator[tuple[Asks, ...]]:
    """Group the questions that look at the same inputs and region, so that one search shows all."""
    groups: dict[object, list[Asks]] = {}
    for each in asked:
        groups.setdefault((model.owner[each.output.name], each.inputs), []).append(each)
    yield from map(tuple, groups.values())


def _all_hold(asking: Asking, asked: tuple[Asks, ...]) -> bool:
    try:
        return _search(asking, asked) is None
    except (NotKnownError, LimitError):
        return False


def _search(asking: Asking, asked: tuple[Asks, ...]) -> Run | None:
    """Find a run in which any of some questions is answered with a breach.

    Raises NotKnownError and LimitError.
    """
    seen = asking_for(*asked[0].inputs)
    watches = tuple(each.watch() for each in asked)
    question = Question(watches=watches, conditions=seen, may_stall=True, begins_anew=True)
    outputs = tuple(dict.fromkeys(each.output.name for each in asked))
    return asking.reach(question, lambda _: _is_breach, conditions=seen, outputs=outputs)


def _is_breach(at: Situation) -> bool:
    return BREACH in at.watch


def _finding(model: Model, name: str, asks: Asks, run: Run) -> Finding:
    pointed = asks.point(replay(model, run)[-1])
    return finding(
        name,
        asks.message,
        pointed.at.span,
        pointed.at.text,
        run=run,
        hint=pointed.hint,
        related=pointed.related,
        place=pointed.place or where(model, model.owner[asks.output.name], run),
    )


# --- What is asked ------------------------------------------------------------------------------


def _openings(model: Model) -> Iterator[Asks]:
    for (at, output), guard in _pairs(model, Role.GUARD):
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
            )


def _beatings(model: Model) -> Iterator[Asks]:
    for (at, output), stop in _pairs(model, Role.STOP):
        value = next(value for value in stop.values if value != stop.safe)
        yield Asks(
            output,
            (stop,),
            lambda o=output, a=at, s=stop: Beating(o, a, active(s)),  # type: ignore[misc]
            f"`{output.name}` can be away from rest while `{stop.name}` is active",
            lambda last, o=output, s=stop, v=value: point_at_hazard(model, o, s, v, last),  # type: ignore[misc]
        )


def _unasked(model: Model) -> Iterator[Asks]:
    starts = _items(model, Role.START, Role.HOLD_TO_RUN)
    ends = _items(model, Role.STOP, Role.RESET, Role.GUARD)
    if not starts:
        return
    words = " or ".join(f"`{item.name}`" for item in starts)
    for at, output in hazards(model):
        yield Asks(
            output,
            (*starts, *ends),
            lambda o=output, a=at: asked(o, a, model.owner[o.name], starts, ends),  # type: ignore[misc]
            f"`{output.name}` can start without a fresh press of {words}",
            lambda last, o=output: point_at_start(model, o, starts, last),  # type: ignore[misc]
        )


def _pairs(model: Model, role: Role) -> Iterator[tuple[tuple[int, Output], Input]]:
    for hazard in hazards(model):
        for item in _items(model, role):
            yield hazard, item


def _items(model: Model, *roles: Role) -> tuple[Input, ...]:
    return tuple(item for _, item in with_role(model, *roles))


CHECKS: dict[str, Questions] = {
    "guard-open-moves": _openings,
    "stop-is-beaten": _beatings,
    "starts-unasked": _unasked,
}
