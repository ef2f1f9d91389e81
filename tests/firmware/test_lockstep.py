"""The C, built for this computer under the sanitizers, beside the definition, loop by loop.

And the Python for a Raspberry Pi, at mock pins, on the same runs.
"""

from dataclasses import replace

import pytest
from hypothesis import settings

from behaviour.findings import Run, Stimulus
from behaviour.rehearse.stage import run_of
from behaviour.rehearse.walking import perform
from codegen.conform.match import LockstepReport, match, match_on, match_on_pi
from codegen.conform.runs import Effort, Family, Runs, runs_of
from codegen.conform.timeline import Timeline, timeline_of
from tests.firmware.killing import trial_of
from tests.firmware.props import PROPS, demo_names, faulty_names, spec
from tests.firmware.survivors import alike

IS_LONG = settings.default.max_examples > 500
"""With the `long` profile it is also asked whether the mutants in the table do live."""

NEVER_OPEN = {
    "nested": ("show.other -> end (leave)",),
    "folded": ("r.outer -> inner (interlocks)",),
    "odd_names": (
        "lid_open.a -> b (leave)",
        "lid_open.b -> a (leave)",
        "lid_open.c -> b (leave)",
    ),
}
"""Transitions that no run can take: out of a lockout, behind one that always holds."""


NOT_SHOWN = {
    "fortune-teller": {
        # the eyes open in the loop after the teller invites, and she invites for a loop at least
        "conditions, both ways": (
            "`teller in prophesying` true in eyes.closed -> awake (leave, line 123)",
        ),
        # with `hush` pressed on entering, an interlock is taken: it is held for less than the time
        "times, before and at": (
            "the last loop before 3 s of teller.no_card -> asleep (leave, line 112)",
            "the loop at 3 s of teller.no_card -> asleep (leave, line 112)",
        ),
    },
    "rotating-sign": {
        # with swings left the line above is taken, at the same time
        "conditions, both ways": (
            "`swings = 0` false in swing.at_front -> resting (leave, line 92)",
        ),
    },
}
"""What cannot be, and why; all else of a demo prop is gone through."""


def wanting(report: LockstepReport) -> dict[str, tuple[str, ...]]:
    """Give the rows of the table in which something is wanting."""
    return {row.name: row.wanting for row in report.coverage.rows if row.wanting}


@pytest.mark.parametrize("name", PROPS)
def test_a_prop_in_c_does_what_the_definition_says_through_every_transition(name: str) -> None:
    report = match(PROPS[name], name, effort=Effort(most_calls=40_000))
    assert report.mismatch is None
    transitions = report.coverage.row("transitions")
    assert transitions.wanting == ()
    assert transitions.impossible == NEVER_OPEN.get(name, ())
    assert report.coverage.row("from each state").wanting == ()
    assert report.calls >= 16_000
    assert report.sanitized


PATIENT = Effort(seconds=3_600.0)
"""So that how busy the machine is hides no edge."""


@pytest.fixture(scope="module", params=demo_names())
def demo(request: pytest.FixtureRequest) -> tuple[str, Runs]:
    """Make all runs of a demo prop once, for whatever is asked of it."""
    return request.param, runs_of(spec(request.param), PATIENT)


def test_a_demo_prop_in_c_goes_through_all_that_can_be_as_defined(demo: tuple[str, Runs]) -> None:
    name, runs = demo
    report = match_on(spec(name), name, runs)
    assert report.mismatch is None
    assert not report.open
    assert wanting(report) == NOT_SHOWN.get(name, {})
    transitions = report.coverage.row("transitions")
    assert transitions.met == transitions.total > 0
    assert transitions.impossible == ()
    assert [what for _, what in report.families if "count" not in what] == [
        "take what each state can do, as early as can be",
        "take it as late as can be",
        "find one input otherwise where it is due",
        "find an input going there and back in each place",
        "take it about a late loop, of 3 loop times",
        "take it about a loop in which every wait ends",
        "take it across the rollover of the milliseconds",
        "go off and on again",
        "go anywhere, punctual and late",
        "find a state that cannot be, and must rest",
    ]


def first_of_each(runs: Runs, calls: int) -> Runs:
    """Keep of each family the runs with which it has begun, about so many calls."""

    def shortened(family: Family) -> Family:
        kept, left = [], calls
        for timeline in family.timelines:
            if left > 0:
                kept.append(timeline)
            left -= len(timeline.calls)
        return replace(family, timelines=tuple(kept))

    return replace(runs, families=tuple(map(shortened, runs.families)))


def test_a_demo_prop_in_python_takes_every_way_from_each_state_as_defined(
    demo: tuple[str, Runs],
) -> None:
    name, whole = demo
    model = spec(name)
    told = tuple(
        timeline_of(model, each.name, run_of(perform(model, each).moments))
        for each in model.walkthroughs
    )
    runs = whole if settings.default.max_examples > 500 else first_of_each(whole, 3_000)
    runs = replace(runs, families=(*runs.families, Family("are told", told)))
    report = match_on_pi(model, f"{name}.yaml", runs)
    assert report.mismatch is None
    assert "mock pins" in report.how
    edges = report.coverage.row("from each state")
    assert edges.wanting == ()
    assert len(runs.families[0].timelines) == edges.total == len(whole.families[0].timelines)


def test_no_mutant_of_a_demo_prop_lives_but_those_that_do_just_the_same(
    demo: tuple[str, Runs],
) -> None:
    name, runs = demo
    known = alike(name)
    with trial_of(spec(name), name, runs) as trial:
        assert trial.is_alike(0)
        assert len(set(trial.names)) == len(trial.names) >= 300
        assert known <= set(trial.names)
        asked = trial.names if IS_LONG else set(trial.names) - known
        assert trial.survivors(asked) == (known if IS_LONG else set())


@pytest.mark.parametrize("name", faulty_names())
def test_a_faulty_prop_in_c_is_as_faulty_as_the_definition_says(name: str) -> None:
    effort = Effort(calls=2_000, most_calls=6_000)
    report = match(spec(name), name, effort=effort, sanitize=False)
    assert report.mismatch is None
    assert report.is_whole


def test_clang_builds_the_same_behaviour() -> None:
    report = match(
        spec("confetti-carousel"),
        "confetti-carousel.yaml",
        compiler="clang",
        effort=Effort(calls=9000, most_calls=9000),
        sanitize=False,
    )
    assert report.mismatch is None


def test_a_run_that_was_found_elsewhere_is_played_with_its_own_draws() -> None:
    scene_pauses, dark_ends, bright_ends = ("show", 4), ("show", 6), ("show", 8)
    calm = ("released", "normal")
    run = Run(
        stimuli=(
            Stimulus(calm, draws=((scene_pauses, 12), (dark_ends, 4))),
            *(Stimulus(calm) for _ in range(3)),
            Stimulus(calm, draws=((bright_ends, 5),)),
            *(Stimulus(calm) for _ in range(4)),
            Stimulus(calm, draws=((dark_ends, 9),)),
        )
    )
    model = PROPS["nested"]
    names = [model.regions[0].states[leaf].name for leaf in _leaves(timeline_of(model, "", run))]
    assert names == ["dark"] * 4 + ["bright"] * 5 + ["dark"]
    assert (
        match(model, "nested", stories=[run], effort=Effort(calls=1, most_calls=1)).mismatch is None
    )


def _leaves(timeline: Timeline) -> list[int]:
    return [call.leaves.regions[0].leaf for call in timeline.calls]
