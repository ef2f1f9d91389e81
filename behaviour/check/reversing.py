"""Motors that reverse: from one value that is not rest to another needs the pause at rest."""

from collections.abc import Iterable
from dataclasses import dataclass

from behaviour.check.asking import Asking, where
from behaviour.check.verdicts import Told, Verdicts, finding
from behaviour.check.watching import BREACH
from behaviour.explore.guards import Limit, count
from behaviour.explore.places import lower
from behaviour.explore.situations import Moment, Next, Question
from behaviour.findings import Finding
from behaviour.model import Output


@dataclass(frozen=True, slots=True)
class Reversing:
    """Breaks when a motor has been at rest for fewer than `pause` loops between two directions.

    Place 2 n + 1 drives in the n-th value, place 2 n + 2 rests after it; clock 0 counts the rest.
    """

    output: Output
    at: int
    pause: int

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        return self.go_on(number, 0, moment)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        value = moment.now.outputs[self.at]
        which = self.output.values.index(value)
        driving = 2 * which + 1
        clock = ("watch", number, 0)
        if place == BREACH:
            return (Next(BREACH),)
        if value == self.output.rest:
            if place == 0:
                return (Next(0),)
            return (Next(place + 1, restarts=(0,)) if place % 2 else Next(place),)
        last = 0 if place == 0 else (place + 1) // 2 * 2 - 1
        if place == 0 or last == driving or self.pause == 0:
            return (Next(driving),)
        if place % 2:
            return (Next(BREACH),)
        early = lower((), clock, self.pause - 1)
        late = Next(driving)
        return (late,) if early is None else (late, Next(BREACH, (), early))

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        return ((0, Limit(high=self.pause - 1)),) if place > 0 and place % 2 == 0 else ()


def check_reversing(asking: Asking) -> Told:
    """Check each motor that has a pause."""
    verdict = Verdicts("reverses-at-once")
    findings: list[Finding] = []
    for output in asking.model.outputs:
        if output.kind != "motor" or output.pause is None:
            continue

        def look(output: Output = output) -> bool:
            if output.pause is None:
                return False
            at = asking.model.output_index[output.name]
            watch = Reversing(output, at, count(asking.model, output.pause))
            run = asking.reach(
                Question(watches=(watch,), is_timed=True),
                lambda _: lambda situation: situation.watch[0] == BREACH,
                outputs=(output.name,),
            )
            if run is not None:
                findings.append(
                    finding(
                        "reverses-at-once",
                        f"`{output.name}` reverses without its pause at rest",
                        output.span,
                        "this motor needs its pause before it turns the other way",
                        run=run,
                        place=where(asking.model, asking.model.owner[output.name], run),
                        hint="a state between the two directions that leaves it at rest so long",
                    )
                )
            return run is not None

        verdict.decide(look)
    return Told((verdict.verdict(),), tuple(findings))
