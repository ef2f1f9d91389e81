"""Memory that is upset: a region is found in no state that there is.

Everything must come to rest in that very loop, be counted, and stay at rest whatever is read,
until the power comes on again.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from behaviour.model import Model
from codegen.conform.build import Program
from codegen.conform.lockstep import Mismatch, Numbers
from codegen.conform.timeline import Call, Timeline, enumerators
from codegen.refusals import MILLISECOND

STAYS = 40
"""So many loops are played on after the upset."""
MUCH_LATER_MS = 3_600_000
BEYOND = (0, 1, 128, 255, 2**31)
"""Added to the number of a region's states, so that no state has the sum."""


@dataclass(frozen=True, slots=True)
class Upset:
    """A run in which a region's state becomes `number` before call `at`."""

    timeline: Timeline
    at: int
    region: int
    number: int


def upsets_of(model: Model, timelines: Sequence[Timeline]) -> tuple[Upset, ...]:
    """Choose for each region and each impossible state a run in which much is away from rest.

    Then every run once more, each region being upset before its last call: what is taken in that
    loop must not be.
    """
    if not timelines:
        return ()
    rest = tuple(output.rest for output in model.outputs)
    best = [_most_awake(timeline, rest) for timeline in timelines]
    order = sorted(range(len(timelines)), key=lambda at: (-best[at][0], at))
    found: list[Upset] = []
    for region, places in enumerate(enumerators(model)):
        for more in BEYOND:
            at = order[len(found) % min(len(order), 2 * len(BEYOND))]
            found.append(Upset(timelines[at], best[at][1], region, len(places) + more))
    for number, timeline in enumerate(timelines):
        more, last = BEYOND[number % len(BEYOND)], len(timeline.calls) - 1
        for region, places in enumerate(enumerators(model)):
            found.append(Upset(timeline, last, region, len(places) + more))
    return tuple(found)


def first_upset_mismatch(
    model: Model, program: Program, upsets: Sequence[Upset]
) -> Mismatch | None:
    """Run each upset in the program; give the first that does not end at rest, and stay there."""
    numbers = Numbers(model)
    lines: list[str] = []
    for upset in upsets:
        lines += [numbers.line(call) for call in _before(upset)]
        lines.append(f"c {upset.region} {upset.number}")
        lines += [numbers.line(call) for call in (*_after(model, upset), upset.timeline.calls[0])]
    answers = iter(program.play(lines))
    for upset in upsets:
        name = f"{upset.timeline.name}, upset"
        for number, call in enumerate(_before(upset)):
            answer, expected = next(answers, None), numbers.left(call)
            if answer != expected:
                return numbers.mismatch(name, number, call, answer, expected)
        rest = numbers.at_rest()
        for number, call in enumerate(_after(model, upset), upset.at):
            answer = next(answers, None)
            if answer is None or answer[-len(rest) :] != rest:
                ending = None if answer is None else answer[-len(rest) :]
                return numbers.mismatch(name, number, call, ending, rest)
        again = upset.timeline.calls[0]
        answer, expected = next(answers, None), numbers.left(again)
        if answer != expected:
            return numbers.mismatch(f"{name}, then power-up", 0, again, answer, expected)
    return None


def _before(upset: Upset) -> tuple[Call, ...]:
    return upset.timeline.calls[: upset.at]


def _after(model: Model, upset: Upset) -> tuple[Call, ...]:
    """Give punctual calls after the upset that read what the run reads, then one much later."""
    calls, loop_ms = upset.timeline.calls, model.loop // MILLISECOND
    last = calls[upset.at - 1]
    raws = [calls[(upset.at + more) % len(calls)].raw for more in range(STAYS)]
    begun_ms = [last.now_ms + (more + 1) * loop_ms for more in range(STAYS)]
    begun_ms[-1] += MUCH_LATER_MS
    return tuple(
        Call(now_ms, raw, (), last.leaves, 1) for now_ms, raw in zip(begun_ms, raws, strict=True)
    )


def _most_awake(timeline: Timeline, rest: tuple[str, ...]) -> tuple[int, int]:
    """Give the most outputs that a call leaves away from rest, and the call after it."""
    away = [
        sum(value != at_rest for value, at_rest in zip(call.leaves.outputs, rest, strict=True))
        for call in timeline.calls
    ]
    most = max(away)
    return most, away.index(most) + 1
