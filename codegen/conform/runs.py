"""All the runs that the firmware is held against the definition on, by what they are for.

After Chow (1978) every edge of the graph that can be explored is taken, here as early and as late
as it can be; the same edges once more with a late loop, and across the rollover of the count of
milliseconds. Then what the file tells, and what nobody thought of.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from behaviour.findings import Run
from behaviour.model import Model
from codegen.conform.again import again
from codegen.conform.aiming import waits
from codegen.conform.counts import counted_name, explore_counts
from codegen.conform.coverage import Coverage, Onlooker
from codegen.conform.edges import Explored, edge_name, edges_of, explore_edges
from codegen.conform.latest import put_off
from codegen.conform.otherwise import arrivals, otherwise, there_and_back, together
from codegen.conform.timeline import ROLLOVER, Timeline, timeline_of
from codegen.conform.walk import walk
from codegen.refusals import MILLISECOND

LATE_LOOPS = 3
"""A loop that is late takes so many times as long as it should."""
MOST_WAIT = 400
"""What could be put off for ever is put off by at most so many loops."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How much is run: the search for edges may take `seconds`.

    A walk at random, from `seed`, makes about `calls` calls; where it leaves out a transition or
    cue there are more, up to about `most_calls`. There are up to `walks` such walks, as long as
    something was not gone through and each brings some of it.
    """

    seed: int = 1
    walks: int = 4
    calls: int = 16_000
    most_calls: int = 80_000
    seconds: float = 60.0


USUAL = Effort()


@dataclass(frozen=True, slots=True)
class Family:
    """Runs of one sort, and what they do, as the end of `N runs ...`."""

    what: str
    timelines: tuple[Timeline, ...]


@dataclass(frozen=True, slots=True)
class Runs:
    """All runs, what they go through, and whether the search for edges saw everything."""

    families: tuple[Family, ...]
    coverage: Coverage
    is_explored: bool

    @property
    def timelines(self) -> tuple[Timeline, ...]:
        return tuple(timeline for family in self.families for timeline in family.timelines)


def runs_of(model: Model, effort: Effort = USUAL, stories: Sequence[Run] = ()) -> Runs:
    """Make all runs; the same model and effort give the same, if no limit of time is met."""
    explored = explore_edges(model, effort.seconds)
    counted = explore_counts(model, effort.seconds / 2)
    edges = [(edge_name(model, edge), edge, run) for edge, run in explored.runs.items()]
    longest = min(max(waits(model)) + 2, MOST_WAIT)
    counts = [(counted_name(model, each), each.edge, run) for each, run in counted.items()]
    earliest = {name: run for name, _, run in edges}
    arrived = arrivals(model, edges)
    beside = together(model, earliest | {name: run for name, _, run in counts})
    told = {f"story {number}": run for number, run in enumerate(stories, 1)}
    sorts = {
        "take what each state can do, as early as can be": _punctual(model, earliest),
        "take it as late as can be": _punctual(model, _latest(model, explored, longest)),
        "take it at each count that is looked at": _punctual(
            model, {name: run for name, _, run in counts}
        ),
        "find one input otherwise where it is due": _punctual(
            model, otherwise(model, edges + counts, longest)
        ),
        "find an input going there and back in each place": _punctual(
            model, there_and_back(model, _one_of_each_place(arrived), longest)
        ),
        f"take it about a late loop, of {LATE_LOOPS} loop times": _late(model, earliest),
        "take it about a loop in which every wait ends": _very_late(model, earliest)
        + _very_late(
            model,
            {name: _once_more(run) for name, run in (arrived | beside).items()},
        ),
        "take it across the rollover of the milliseconds": _rolling(model, earliest),
        "go off and on again": _punctual(model, again(model, earliest, longest)),
        "are told": _punctual(model, told),
    }
    families = [Family(what, timelines) for what, timelines in sorts.items()]
    never = frozenset(edges_of(model)) - explored.runs.keys() - explored.open
    onlooker = Onlooker(model, never)
    for family in families:
        onlooker.look_on(family.timelines)
    families.append(Family("go anywhere, punctual and late", _anywhere(model, effort, onlooker)))
    return Runs(
        tuple(family for family in families if family.timelines),
        onlooker.table(),
        is_explored=not explored.open,
    )


def _latest(model: Model, explored: Explored, longest: int) -> dict[str, Run]:
    return {
        edge_name(model, edge): later
        for edge, run in explored.runs.items()
        if (later := put_off(model, edge, run, longest)) is not None
    }


def _anywhere(model: Model, effort: Effort, onlooker: Onlooker) -> tuple[Timeline, ...]:
    """Walk at random, and more while something is wanting and a walk brings some of it."""
    found: list[Timeline] = []
    left = onlooker.table().wanting + 1
    for more in range(effort.walks):
        walked = walk(model, effort.seed + more, effort.calls, effort.most_calls).timelines
        found += [replace(each, name=f"walk {more + 1}, {each.name}") for each in walked]
        onlooker.look_on(walked)
        before, left = left, onlooker.table().wanting
        if not left or (more and left == before):
            break
    return tuple(found)


def _punctual(model: Model, runs: dict[str, Run]) -> tuple[Timeline, ...]:
    return tuple(timeline_of(model, name, run) for name, run in runs.items())


def _late(model: Model, runs: dict[str, Run]) -> tuple[Timeline, ...]:
    """Let the last loop of a run be late, and in every other run the loop before the last."""
    found = []
    for number, (name, run) in enumerate(runs.items()):
        end = len(run.stimuli) - 1 - number % 2
        skipped = range(max(end - LATE_LOOPS + 1, 1), end)
        found.append(timeline_of(model, f"{name}, late", run, skipped=skipped))
    return tuple(found)


def _very_late(model: Model, runs: dict[str, Run]) -> tuple[Timeline, ...]:
    """Let the last loop come so late that whatever is waited for is over, several cues at once."""
    more, found = max(waits(model)) + 1, []
    for name, run in runs.items():
        end = len(run.stimuli) - 1
        late = replace(run, stimuli=(*run.stimuli, *[run.stimuli[-1]] * more), breach=None)
        skipped = range(end, end + more)
        found.append(timeline_of(model, f"{name}, very late", late, skipped=skipped))
    return tuple(found)


def _one_of_each_place(arrived: dict[str, Run]) -> dict[str, Run]:
    return {name: run for name, run in arrived.items() if ", to " not in name}


def _once_more(run: Run) -> Run:
    """Go on for a loop in which nothing changes."""
    return replace(run, stimuli=(*run.stimuli, replace(run.stimuli[-1], draws=())))


def _rolling(model: Model, runs: dict[str, Run]) -> tuple[Timeline, ...]:
    """Let the count roll over in the last loop, just before or after it, or in the middle."""
    loop_ms, found = model.loop // MILLISECOND, []
    for number, (name, run) in enumerate(runs.items()):
        last_ms = (len(run.stimuli) - 1) * loop_ms
        back = (last_ms, last_ms - 1, last_ms + 1, last_ms // 2)[number % 4]
        begins_ms = ROLLOVER - max(back, 1)
        found.append(timeline_of(model, f"{name}, rollover", run, begins_ms=begins_ms))
    return tuple(found)
