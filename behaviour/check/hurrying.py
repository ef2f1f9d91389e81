"""What is over too soon: values cut short, cues on one loop, states left in the next one."""

from collections.abc import Iterable
from dataclasses import dataclass

from behaviour.check.asking import Asking, where
from behaviour.check.verdicts import Told, Verdicts, finding
from behaviour.check.watching import BREACH
from behaviour.explore.guards import Limit, count
from behaviour.explore.places import lower
from behaviour.explore.situations import Moment, Next, Question
from behaviour.findings import Finding
from behaviour.model import Model, Output, Part, Region, State
from behaviour.semantics import NotKnownError
from behaviour.wording import time_words

NAME = "too-quick"


@dataclass(frozen=True, slots=True)
class Lasting:
    """Breaks when a value of an output ends before `least` loops, other than by an interlock.

    Place 0 is rest since before power-up, which has lasted; place n + 1 has the n-th value, and
    clock 0 counts the loops since it began. `region` owns the output.
    """

    output: Output
    at: int
    region: str
    least: int

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        del number
        value = moment.now.outputs[self.at]
        return (Next(0) if value == self.output.rest else self._began(value),)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        value = moment.now.outputs[self.at]
        if place == BREACH:
            return (Next(BREACH),)
        before = self.output.rest if place == 0 else self.output.values[place - 1]
        if value == before:
            return (Next(place),)
        late = self._began(value)
        early = lower((), ("watch", number, 0), self.least - 1)
        if place == 0 or early is None or self._is_interlocked(moment):
            return (late,)
        return (late, Next(BREACH, (), early))

    def _began(self, value: str) -> Next:
        return Next(self.output.values.index(value) + 1, restarts=(0,))

    def _is_interlocked(self, moment: Moment) -> bool:
        way = moment.ways[moment.model.region_index[self.region]]
        taken = None if way is None else way.transition
        return taken is not None and taken.part is Part.INTERLOCK

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        return ((0, Limit(high=self.least - 1)),) if place > 0 else ()


def check_hurrying(asking: Asking) -> Told:
    """Check every output with a `least`, every state's cues, and every way out."""
    verdict = Verdicts(NAME)
    findings: list[Finding] = []

    def asks(found: Finding | None) -> bool:
        findings.extend(() if found is None else (found,))
        return found is not None

    for output in asking.model.outputs:
        if output.least is not None and output.name in asking.model.owner:
            verdict.decide(lambda o=output: asks(_cut_short(asking, o)))  # type: ignore[misc]
    for region in asking.model.regions:
        for state in region.states:
            verdict.decide(lambda r=region, s=state: asks(_cues(asking.model, r, s)))  # type: ignore[misc]
            verdict.decide(lambda r=region, s=state: asks(_left_at_once(r, s)))  # type: ignore[misc]
    return Told((verdict.verdict(),), tuple(findings))


def _cut_short(asking: Asking, output: Output) -> Finding | None:
    """Look for a run in which a value ends before its time, by other than an interlock."""
    if output.least is None:
        return None
    model = asking.model
    least = count(model, output.least)
    watch = Lasting(output, model.output_index[output.name], model.owner[output.name], least)
    run = asking.reach(
        Question(watches=(watch,), is_timed=True),
        lambda _: lambda situation: situation.watch[0] == BREACH,
        outputs=(output.name,),
    )
    if run is None:
        return None
    return finding(
        NAME,
        f"`{output.name}` can end a value sooner than {time_words(output.least)}, its `least`",
        output.span,
        "a value of this needs its `least`",
        run=run,
        place=where(model, model.owner[output.name], run, loops_before_end=1),
        hint="a time before the way out that ends it, or the same value in the state that follows",
    )


def _cues(model: Model, region: Region, state: State) -> Finding | None:
    """Find two cues of a state that are due in one loop, so that the second comes a loop late."""
    due: set[int] = set()
    unknown: NotKnownError | None = None
    for cue in state.cues:
        try:
            loop = max(count(model, cue.at), 1)
        except NotKnownError as stop:
            unknown = stop
            continue
        if loop in due:
            return finding(
                NAME,
                f"two cues of `{region.name}.{state.name}` fall on one loop",
                cue.span,
                "comes a loop later than it says",
                place=(region.name, state.name),
                hint="put what both set into one cue, or a loop or more between them",
            )
        due.add(loop)
    if unknown is not None:
        raise unknown
    return None


def _left_at_once(region: Region, state: State) -> Finding | None:
    """Find a way out of a state that sets something which holds in the very next loop."""
    if not state.sets:
        return None
    for way in state.leave:
        if way.when is None and way.after is None and way.target is not None:
            return finding(
                NAME,
                f"`{region.name}.{state.name}` sets something, and is left in the next loop",
                way.span,
                "neither `when` nor `after`: nobody sees what the state sets",
                place=(region.name, state.name),
                subject=(region.name, way.number),
                hint="`after` a time, or set it in the state that follows",
            )
    return None
