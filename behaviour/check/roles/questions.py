"""The questions of the role checks: of which hazards and inputs each asks what.

It knows nothing of how they are asked.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from behaviour.check.asking import Asking
from behaviour.check.pointing import (
    Pointed,
    point_at_hazard,
    point_at_reset,
    point_at_self_start,
    point_at_start,
)
from behaviour.check.roles.asked import asked
from behaviour.check.roles.beating import Beating
from behaviour.check.roles.held import held_start, names
from behaviour.check.roles.opening import left_of_reaction, opening
from behaviour.check.roles.otherwise import Otherwise
from behaviour.check.roles.plainly import (
    counts_when_released,
    rests_all_the_same,
    rests_while_active,
    starts_all_the_same,
    starts_as_asked,
)
from behaviour.check.roles.resetting import OnPress
from behaviour.check.roles.seeing import active, every_hazard, hazards, with_role
from behaviour.check.roles.turning import interlocks, restarted, turned_on
from behaviour.check.roles.unheld import Unheld
from behaviour.explore.situations import Watch
from behaviour.faults import Fault
from behaviour.findings import Run
from behaviour.model import Input, Model, Output, Role
from behaviour.story import LoopView
from behaviour.wording import condition_words


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
    bears: Callable[[Fault], bool] = lambda _: False
    """Tells whether what is plain with nothing wrong is so with a fault as well."""

    def is_plain_with(self, faults: Sequence[Fault]) -> bool:
        """Tell whether the file shows it to be kept with some things wrong, one at most."""
        return len(faults) < 2 and all(map(self.bears, faults)) and self.is_plain()  # noqa: PLR2004


Questions = Callable[[Model], Iterator[Asks]]


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
                bears=partial(rests_all_the_same, model, output, guard),
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
            bears=partial(rests_all_the_same, model, output, stop),
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
            bears=partial(starts_all_the_same, model, output, starts, ends),
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
                find=partial(held_start, output=output, at=at, start=start, reset=reset),
            )


def _on_press(model: Model) -> Iterator[Asks]:
    for number, reset in with_role(model, Role.RESET):
        for region in model.regions:
            if any(names(way.when, reset.name) for way in region.transitions()):
                yield Asks(
                    None,
                    (reset,),
                    lambda r=region, i=reset, n=number: OnPress(r.name, i, n, Otherwise(n)),  # type: ignore[misc]
                    f"`{reset.name}` counts in `{region.name}` as soon as it is pressed",
                    lambda last, r=region, i=reset: point_at_reset(model, r, i, last),  # type: ignore[misc]
                    (region.name,),
                    is_plain=partial(counts_when_released, region, reset),
                )


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
