"""The C, built for this computer under the sanitizers, beside the definition, loop by loop."""

import pytest

from behaviour.findings import Run, Stimulus
from codegen.conform.match import Effort, match
from codegen.conform.timeline import Timeline, timeline_of
from tests.firmware.props import PROPS, demo_names, faulty_names, spec

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


@pytest.mark.parametrize("name", PROPS)
def test_a_prop_in_c_does_what_the_definition_says_through_every_transition(name: str) -> None:
    report = match(PROPS[name], name, effort=Effort(most_calls=40_000), sanitize=True)
    assert report.mismatch is None
    assert report.missed == NEVER_OPEN.get(name, ())
    assert report.calls >= 16_000


@pytest.mark.parametrize("name", demo_names())
def test_a_demo_prop_in_c_goes_through_every_transition_as_defined(name: str) -> None:
    report = match(spec(name), name, sanitize=True)
    assert report.mismatch is None
    assert report.missed == ()
    assert report.taken == report.total > 0


@pytest.mark.parametrize("name", faulty_names())
def test_a_faulty_prop_in_c_is_as_faulty_as_the_definition_says(name: str) -> None:
    report = match(spec(name), name, effort=Effort(calls=2_000, most_calls=6_000))
    assert report.mismatch is None
    assert report.taken > 0


def test_clang_builds_the_same_behaviour() -> None:
    report = match(
        spec("confetti-carousel"),
        "confetti-carousel.yaml",
        compiler="clang",
        effort=Effort(calls=9000, most_calls=9000),
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
    assert match(model, "nested", runs=[run], effort=Effort(calls=1, most_calls=1)).mismatch is None


def _leaves(timeline: Timeline) -> list[int]:
    return [call.leaves.regions[0].leaf for call in timeline.calls]
