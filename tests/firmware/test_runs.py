"""The runs that lockstep makes: each way on as early and late as can be, late, and rolling over."""

from functools import cache

import pytest

from behaviour.findings import Run
from behaviour.model import Model
from behaviour.semantics import PropState, power_up, step
from codegen.conform.again import again
from codegen.conform.build import build, built, write_project
from codegen.conform.counts import explore_counts
from codegen.conform.coverage import Onlooker
from codegen.conform.edges import CUE, Edge, Explored, edge_name, edges_of, explore_edges
from codegen.conform.latest import put_off
from codegen.conform.otherwise import otherwise, together
from codegen.conform.runs import Effort, Runs, runs_of
from codegen.conform.timeline import ROLLOVER, Timeline, timeline_of
from codegen.conform.upsets import first_upset_mismatch, upsets_of
from tests.firmware.props import spec

CAROUSEL = spec("confetti-carousel")
IDLE, TURN, SHOT, EMPTY, JAMMED, LID_OPEN = range(6)
SMALL = Effort(calls=200, most_calls=200, walks=1)


@cache
def ways_on() -> Explored:
    return explore_edges(CAROUSEL, 60)


@cache
def small_runs() -> Runs:
    return runs_of(CAROUSEL, SMALL)


@pytest.fixture(scope="module")
def explored() -> dict[str, tuple[Edge, int, int | None]]:
    """Map the name of each way on to it, and to its earliest and latest loop."""
    found = {}
    for edge, run in ways_on().runs.items():
        later = put_off(CAROUSEL, edge, run, 400)
        latest = None if later is None else len(later.stimuli) - 1
        found[edge_name(CAROUSEL, edge)] = (edge, len(run.stimuli) - 1, latest)
    return found


def test_a_way_on_is_what_a_region_looks_at_from_a_place() -> None:
    ways = {(edge.leaf, edge.cue, edge.way) for edge in edges_of(CAROUSEL)}
    assert ways == {
        *((IDLE, 0, way) for way in (0, 1, 2)),
        *((TURN, 0, way) for way in (0, 3, 4)),
        *((SHOT, cue, 0) for cue in (0, 1, 2)),
        *((SHOT, 0, CUE), (SHOT, 1, CUE), (SHOT, 2, 5)),
        *((EMPTY, 0, way) for way in (0, 6)),
        *((JAMMED, 0, way) for way in (0, 7)),
        (LID_OPEN, 0, 8),
    }


def test_each_is_taken_at_the_earliest_and_the_latest_loop_that_the_file_allows(explored) -> None:
    # 20 loops of filter and 50 of `for`, from loop 1 on; it can be put off for ever
    _, earliest, latest = explored["carousel.lid_open -> idle (leave, line 84)"]
    assert (earliest, latest) == (71, 471)
    # the drum turns from loop 72 on, and after 150 loops it is jammed; the mark comes first then
    _, earliest, latest = explored["carousel.turn -> shot (leave, line 65)"]
    assert (earliest, latest) == (73, 222)
    # a time alone has one moment
    _, earliest, latest = explored["carousel.turn -> jammed (leave, line 66)"]
    assert (earliest, latest) == (222, None)
    # between the cues at 100 ms and 250 ms
    _, earliest, latest = explored["carousel.shot@100ms -> lid_open (interlocks, line 55)"]
    assert (earliest, latest) == (84, 98)


def test_a_run_ends_in_the_loop_that_takes_what_it_is_for() -> None:
    for edge, run in ways_on().runs.items():
        for each in filter(None, (run, put_off(CAROUSEL, edge, run, 400))):
            before, after = _last_two(CAROUSEL, each.stimuli)
            fired = after.regions[0].fired
            assert fired is not None
            number = CUE if fired.transition is None else fired.transition.number
            assert (before.regions[0].leaf, before.regions[0].cue, number) == (
                edge.leaf,
                edge.cue,
                edge.way,
            )


def test_a_long_wait_is_one_late_loop_that_leaves_what_punctual_ones_would() -> None:
    edge = Edge("carousel", EMPTY, 0, 6)
    run = ways_on().runs[edge]
    calls = timeline_of(CAROUSEL, "", run).calls
    assert len(calls) < len(run.stimuli) // 3
    assert sum(call.loops for call in calls) == len(run.stimuli) - 1
    assert max(call.loops for call in calls) > 150
    assert all(call.loops == 1 for call in calls[-6:])
    _, last = _last_two(CAROUSEL, run.stimuli)
    assert calls[-1].leaves == last


def test_late_loops_take_three_loop_times_and_the_milliseconds_roll_over() -> None:
    families = {family.what: family.timelines for family in small_runs().families}
    late = families["take it about a late loop, of 3 loop times"]
    assert all(any(call.loops == 3 for call in timeline.calls) for timeline in late)
    for timeline in families["take it across the rollover of the milliseconds"]:
        times = [call.now_ms for call in timeline.calls]
        assert times[0] < ROLLOVER <= times[-1] + 2, timeline.name


def test_a_loop_may_be_so_late_that_every_wait_has_ended() -> None:
    families = {family.what: family.timelines for family in small_runs().families}
    for timeline in families["take it about a loop in which every wait ends"]:
        assert timeline.calls[-1].loops > 301  # 3 s are the longest wait


def test_each_input_that_is_looked_at_is_otherwise_from_before_and_at_once() -> None:
    edge = Edge("carousel", JAMMED, 0, 7)
    run = ways_on().runs[edge]
    found = otherwise(CAROUSEL, [("jammed -> idle", edge, run)], 305)
    assert set(found) == {
        "jammed -> idle, lid open from before",
        "jammed -> idle, lid open at once",
        "jammed -> idle, trigger released from before",
        "jammed -> idle, trigger released at once",
    }
    due = len(run.stimuli) - 1
    before = found["jammed -> idle, trigger released from before"]
    _, last = _last_two(CAROUSEL, before.stimuli)
    assert (len(before.stimuli) - 1, last.regions[0].leaf) == (due + 305, JAMMED)
    states = [fired(CAROUSEL, each) for each in found.values()]
    assert states == ["lid_open", "lid_open", None, None]


def fired(model: Model, run: Run) -> str | None:
    """Name what is entered last in a run after it has come to `jammed`."""
    state, jammed, entered = power_up(model, run.stimuli[0].raw, {}), False, None
    for stimulus in run.stimuli[1:]:
        state = step(model, state, stimulus.raw, {})
        if state.regions[0].fired is not None:
            entered = model.regions[0].states[state.regions[0].leaf].name if jammed else None
            jammed = jammed or state.regions[0].leaf == JAMMED
    return entered


def test_each_edge_is_taken_at_each_count_that_its_region_looks_at_there() -> None:
    counts = {(each.edge.leaf, each.edge.way, each.counts) for each in explore_counts(CAROUSEL, 60)}
    assert counts == {
        *((IDLE, 1, (("loaded", count),)) for count in (1, 2, 3, 4, 5, 6)),
        (IDLE, 2, (("loaded", 0),)),
        *((IDLE, 0, (("loaded", count),)) for count in range(7)),
    }


def test_power_comes_on_again_wherever_the_prop_has_come_to() -> None:
    runs = again(CAROUSEL, {"it": ways_on().runs[Edge("carousel", TURN, 0, 3)]}, 9)
    assert "it, again" in runs
    assert "trigger pressed before power-up, released at it" in runs
    assert "trigger pressed before power-up, released at it and just before" in runs
    assert len(runs) == 1 + 3 * 2 * 2
    for name, run in runs.items():
        calls = timeline_of(CAROUSEL, name, run).calls
        (at,) = [number for number, call in enumerate(calls) if number and call.starts]
        assert calls[at].leaves.regions[0].leaf == LID_OPEN
        assert calls[at].leaves.counters == (6,)


def test_places_that_regions_are_in_together_are_come_to_by_the_shortest_run() -> None:
    run = ways_on().runs[Edge("carousel", TURN, 0, 3)]
    found = together(CAROUSEL, {"it": run, "once more": run})
    assert [len(each.stimuli) - 1 for each in found.values()] == [0, 71, 72, 73]
    assert list(found) == ["it, loop 0", "it, loop 71", "it, loop 72", "it, loop 73"]


def test_stories_are_runs_too() -> None:
    run = ways_on().runs[Edge("carousel", IDLE, 0, 1)]
    families = {f.what: f.timelines for f in runs_of(CAROUSEL, SMALL, [run]).families}
    assert families["are told"] == (timeline_of(CAROUSEL, "story 1", run),)


def test_what_was_not_gone_through_is_named_and_what_cannot_be_is_not_asked() -> None:
    explored = ways_on()
    never = frozenset(edges_of(CAROUSEL)) - explored.runs.keys()
    assert never == frozenset()
    onlooker = Onlooker(CAROUSEL, frozenset({Edge("carousel", JAMMED, 0, 7)}))
    run = explored.runs[Edge("carousel", TURN, 0, 3)]
    onlooker.look_on([timeline_of(CAROUSEL, "", run)])
    table = onlooker.table()
    assert table.row("states and cues").met == 4
    assert "carousel.turn -> jammed (leave, line 66)" in table.row("transitions").wanting
    assert table.row("transitions").impossible == ("carousel.jammed -> idle (leave, line 80)",)
    assert table.row("transitions").met == 3
    conditions = table.row("conditions, both ways")
    assert "`mark becomes made` true in carousel.turn -> shot (leave, line 65)" not in (
        conditions.wanting
    )
    assert "`lid is open` true in carousel -> lid_open (interlocks, line 55)" in conditions.wanting
    times = table.row("times, before and at").wanting
    assert "the loop at 1.5 s of carousel.turn -> jammed (leave, line 66)" in times
    assert "the loop at 20 ms of the filter of `trigger` pressed" not in times


def test_an_upset_is_looked_for_where_most_is_away_from_rest() -> None:
    timelines = small_runs().families[0].timelines
    upsets = upsets_of(CAROUSEL, timelines)
    assert {upset.number for upset in upsets} == {8, 9, 136, 263, 8 + 2**31}
    for upset in upsets[:5]:
        before = upset.timeline.calls[upset.at - 1].leaves.outputs
        assert before != ("stopped", "shut", "dark")
    assert [upset.timeline for upset in upsets[5:]] == list(timelines)
    assert all(upset.at == len(upset.timeline.calls) - 1 for upset in upsets[5:])
    with built(CAROUSEL, "carousel.yaml", sanitize=False) as program:
        assert first_upset_mismatch(CAROUSEL, program, upsets) is None


def test_firmware_that_goes_on_after_an_upset_is_caught(tmp_path) -> None:
    folder = write_project(CAROUSEL, "carousel.yaml", tmp_path)
    source = folder / f"{folder.name}.c"
    text = source.read_text(encoding="utf-8")
    upsets = upsets_of(CAROUSEL, _timelines())
    for old, new in (
        ("prop->upsets = longer(prop->upsets, 1u);", "prop->upsets = 0u;"),
        ("rest(prop);\n    }", "}"),
    ):
        assert old in text
        source.write_text(text.replace(old, new), encoding="utf-8")
        mismatch = first_upset_mismatch(CAROUSEL, build(folder), upsets)
        assert mismatch is not None
        assert mismatch.run.endswith(", upset")


def _timelines() -> tuple[Timeline, ...]:
    return small_runs().families[0].timelines


def _last_two(model: Model, stimuli) -> tuple[PropState, PropState]:
    states = [power_up(model, stimuli[0].raw, dict(stimuli[0].draws))]
    for stimulus in stimuli[1:]:
        states.append(step(model, states[-1], stimulus.raw, dict(stimulus.draws)))
    return states[-2], states[-1]
