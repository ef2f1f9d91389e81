"""For how long regions may yet ask that an input is kept at a value."""

from dataclasses import replace

from behaviour.explore.kept_for import KeptFor
from behaviour.model import Model, Region, State
from tests.reading import model_in, source_of

SIGN = model_in(source_of("specs/rotating-sign.yaml"))
SWING = SIGN.region_index["swing"]


def asked(name: str, value: str, *, restarts: bool = False, model: Model = SIGN) -> dict[str, int]:
    """Name the states of the sign in which somebody may yet ask for it, with the loops."""
    found = KeptFor(model, restarts=restarts).by_leaf(SIGN.input_index[name], value)
    states = SIGN.regions[SWING].states
    return {
        states[leaf].name: loops
        for region, by_leaf in found
        for leaf, loops in by_leaf.items()
        if region == SWING and loops
    }


def test_whoever_must_see_an_input_change_first_does_not_ask_how_long_it_was_so():
    """Only an open panel leads to where it is to be shut for half a second."""
    assert asked("panel", "shut") == {"panel_open": 50}


def test_it_is_asked_wherever_a_way_leads_there_while_the_input_is_kept():
    """From where only a new press leads on, a button that is held leads nowhere."""
    turning = {"to_front": 300, "to_back": 300}
    assert asked("call", "pressed") == {"jammed": 300, "at_back": 300, "at_front": 300, **turning}


def test_a_value_that_nobody_asks_to_be_kept_is_nobodys():
    assert asked("call", "released") == {}
    assert asked("front", "made") == {}


def test_a_controller_that_may_start_again_asks_wherever_its_beginning_does():
    region = SIGN.regions[SWING]
    opened = next(state.number for state in region.states if state.name == "panel_open")
    regions = (replace(region, begins=opened), *SIGN.regions[SWING + 1 :])
    model = replace(SIGN, regions=regions)

    assert asked("panel", "shut", model=model) == {"panel_open": 50}
    assert set(asked("panel", "shut", model=model, restarts=True).values()) == {50}
    assert len(asked("panel", "shut", model=model, restarts=True)) == len(leaves(region))


def leaves(region: Region) -> list[State]:
    return [state for state in region.states if not state.children]
