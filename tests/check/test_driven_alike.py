"""Hazards that are away from rest in the same loops: what one of them keeps the other keeps too."""

from dataclasses import replace
from unittest.mock import patch

from hypothesis import given

from behaviour.check.asking import Asking
from behaviour.check.driving import away_in
from behaviour.check.roles import check
from behaviour.check.roles.check import check_roles
from behaviour.explore.budget import Budget
from behaviour.findings import Answer
from behaviour.model import Model, Output, Setting
from tests.making import output, prop, region, state
from tests.reading import spec
from tests.strategies import different_models


def with_brakes(model: Model) -> Model:
    """Give each hazard a brake that its region lets go wherever it sets the hazard."""
    brakes = {
        each.name: output(f"{each.name} brake", "held", "free", hazard=True)
        for each in model.outputs
        if each.hazard and not each.keeps
    }

    def braked(sets: tuple[Setting, ...]) -> tuple[Setting, ...]:
        also = tuple(
            Setting(
                brakes[each.output].name,
                "held" if each.value == model.output[each.output].rest else "free",
            )
            for each in sets
            if each.output in brakes
        )
        return (*sets, *also)

    regions = tuple(
        replace(
            one,
            states=tuple(
                replace(
                    each,
                    sets=braked(each.sets),
                    cues=tuple(replace(cue, sets=braked(cue.sets)) for cue in each.cues),
                )
                for each in one.states
            ),
        )
        for one in model.regions
    )
    return replace(model, regions=regions, outputs=(*model.outputs, *brakes.values()))


@given(different_models())
def test_hazards_driven_alike_are_told_the_same_as_if_each_was_asked(model: Model) -> None:
    braked = with_brakes(model)

    together = check_roles(Asking(braked, Budget()))
    with patch.object(check, "away_in", lambda _, hazard: (hazard.name,)):
        apart = check_roles(Asking(braked, Budget()))

    answers = [(each.name, each.answer) for each in apart.verdicts]
    assert [(each.name, each.answer) for each in together.verdicts] == answers
    if all(answer is not Answer.NOT_DECIDED for _, answer in answers):
        assert together.findings == apart.findings


def test_winch_and_brake_of_the_lift_are_away_together() -> None:
    model = spec("specs/lift-platform.yaml")

    assert away_in(model, model.output["winch"]) == away_in(model, model.output["brake"])


def away_of(**hazards: dict[str, object]) -> list[tuple[object, ...]]:
    """Drive hazards in the one state or the other of a region, and tell where they are away."""
    outputs: list[Output] = [
        output(name, "off", "on", "full", hazard=True, keeps=bool(how.get("keeps")))
        for name, how in hazards.items()
    ]

    def sets(at: str) -> dict[str, str]:
        return {name: str(how[at]) for name, how in hazards.items() if at in how}

    cues = [(20.0, sets("cue"))]
    model = prop(
        region("r", state("a", sets=sets("a")), state("b", sets=sets("b"), cues=cues)),
        outputs=outputs,
    )
    return [away_in(model, each) for each in model.outputs]


def test_what_differs_is_not_alike() -> None:
    first, higher, cued, other, keeps = away_of(
        first={"a": "on"},
        higher={"a": "full"},
        cued={"a": "on", "cue": "on"},
        other={"b": "on"},
        keeps={"a": "on", "keeps": True},
    )

    assert first == higher
    assert len({first, cued, other, keeps}) == 4
