"""The whole file of the language's description reads, and the model says what the file says."""

from pathlib import Path

from behaviour.language.load import read_model
from behaviour.model import (
    AddTo,
    After,
    And,
    AtMost,
    Becomes,
    Change,
    Compare,
    Counter,
    HeldFor,
    InputWiring,
    InState,
    Is,
    Model,
    NamedSetting,
    Never,
    Or,
    OutputWiring,
    Part,
    Pause,
    Role,
    See,
    Setting,
    SetTo,
    WayBack,
    Whenever,
)
from behaviour.source import Source, Span

TEXT = (Path(__file__).parent / "carousel.yaml").read_text(encoding="utf-8")


def carousel() -> Model:
    model, mistakes = read_model(Source("specs/confetti-carousel.yaml", TEXT))
    assert mistakes == ()
    assert model is not None
    return model


def test_the_file_says_what_it_is_and_how_often_it_looks() -> None:
    model = carousel()

    assert model.prop == "Confetti carousel"
    assert model.loop == 10_000
    assert model.reaction == 30_000
    assert model.controller == "uno"
    assert model.firmware_name == "confetti_carousel"
    assert model.unknowns == ()
    assert model.settings == (NamedSetting(name="jam_time", text="1500 ms", uses=1),)
    assert model.counters == (Counter(name="loaded", low=0, high=6, begins=6),)


def test_a_guard_believes_opening_at_once_and_closing_late() -> None:
    lid = carousel().input["lid"]

    assert lid.values == ("closed", "open")
    assert lid.steady == (200_000, 10_000)
    assert (lid.role, lid.safe) == (Role.GUARD, "closed")
    assert lid.wiring == InputWiring(pin="2", pull="up", low="closed")
    assert lid.unplugged == "open"


def test_a_button_with_a_pull_up_reads_low_when_it_is_pressed() -> None:
    trigger = carousel().input["trigger"]

    assert trigger.values == ("released", "pressed")
    assert trigger.steady == (20_000, 20_000)
    assert trigger.wiring.low == "pressed"
    assert trigger.unplugged == "released"


def test_outputs_rest_at_their_first_value_and_motors_and_valves_are_hazards() -> None:
    model = carousel()

    assert {output.name: output.rest for output in model.outputs} == {
        "drum": "stopped",
        "valve": "shut",
        "lamp": "dark",
    }
    assert [output.name for output in model.outputs if output.hazard] == ["drum", "valve"]
    assert model.output["drum"].pause == 200_000
    assert model.output["valve"].least == 50_000
    assert model.output["drum"].wiring == OutputWiring(
        pins=(("step", "5"), ("dir", "6"), ("enable", "7"))
    )


def test_transitions_are_numbered_in_the_order_of_the_file() -> None:
    region = carousel().region["carousel"]
    names = [state.name for state in region.states]

    assert names == ["idle", "turn", "shot", "empty", "jammed", "lid_open"]
    assert region.begins == 0
    ways = [
        (way.number, way.part, way.source, names[way.target])
        for way in region.transitions()
        if isinstance(way.target, int)
    ]
    assert ways == [
        (0, Part.INTERLOCK, None, "lid_open"),
        (1, Part.LEAVE, 0, "turn"),
        (2, Part.LEAVE, 0, "empty"),
        (3, Part.LEAVE, 1, "shot"),
        (4, Part.LEAVE, 1, "jammed"),
        (5, Part.END, 2, "idle"),
        (6, Part.LEAVE, 3, "idle"),
        (7, Part.LEAVE, 4, "idle"),
        (8, Part.LEAVE, 5, "idle"),
    ]


def test_conditions_and_times_are_as_written() -> None:
    states = carousel().region["carousel"].states
    pressed = Becomes("trigger", "pressed")

    assert states[0].leave[0].when == And((pressed, Compare("loaded", ">", 0)))
    assert states[1].leave[1].after == After(1_500_000, 1_500_000)
    assert states[4].leave[0].when == HeldFor("trigger", "pressed", 3_000_000)
    assert states[4].leave[0].after == After(3_000_000, 3_000_000)
    assert states[5].leave[0].does == (SetTo("loaded", 6),)


def test_cues_stand_in_their_state_with_what_is_done_at_the_end() -> None:
    shot = carousel().region["carousel"].states[2]

    assert [cue.at for cue in shot.cues] == [100_000, 250_000, 600_000]
    assert [cue.sets for cue in shot.cues] == [
        (Setting("valve", "open"),),
        (Setting("valve", "shut"),),
        (),
    ]
    assert shot.end is not None
    assert shot.end.does == (AddTo("loaded", -1),)


def test_the_mechanism_has_windows_and_may_begin_anywhere() -> None:
    (position,) = carousel().mechanism
    between, at_tube = position.states

    assert position.begins is None
    assert between.reads == (("mark", "clear"),)
    movement = between.movements[0]
    assert (movement.low, movement.high, movement.target) == (250_000, 400_000, 1)
    assert movement.during == Is("drum", ("stopped",), negated=True)
    assert at_tube.movements[0].number == 1


def test_rules_are_of_their_kind() -> None:
    rules = {rule.name: rule.requirement for rule in carousel().rules}
    turning = Is("drum", ("stopped",), negated=True)

    assert rules == {
        "nothing turns under an open lid": Never(
            condition=And((turning, Is("lid", ("open",)))), limit=40_000
        ),
        "the drum never runs away": AtMost(condition=turning, limit=2_000_000),
        "every pull is answered": Whenever(
            trigger=And((Becomes("trigger", "pressed"), InState("carousel", 0))),
            response=Or((Is("valve", ("open",)), Is("lamp", ("green", "amber"), negated=True))),
            limit=2_000_000,
        ),
        "air only at a tube": Never(
            condition=And((Is("valve", ("open",)), InState("drum_position", 1, negated=True)))
        ),
        "there is always a way back": WayBack(condition=InState("carousel", 0)),
    }


def test_a_walkthrough_is_a_list_of_steps() -> None:
    (walk,) = carousel().walkthroughs

    assert walk.name == "one clean shot"
    assert walk.steps == (
        Pause(time=800_000),
        Change(input="trigger", value="pressed"),
        See(condition=InState("carousel", 1), within=50_000),
        Change(input="mark", value="made"),
        See(condition=Is("valve", ("open",)), within=200_000),
        See(condition=InState("carousel", 0), within=1_000_000),
    )


def written_at(span: Span) -> str:
    line = TEXT.splitlines()[span.line - 1]
    assert span.line == span.end_line
    return line[span.column - 1 : span.end_column - 1]


def test_places_are_the_smallest_text_that_names_a_thing() -> None:
    model = carousel()
    turn = model.region["carousel"].states[1]

    assert written_at(model.input["mark"].span) == "mark"
    assert written_at(turn.span) == "turn"
    assert written_at(turn.sets[0].span) == "drum: forward"
    assert written_at(turn.leave[0].span) == "{when: mark becomes made, go: shot}"
    assert written_at(turn.leave[1].after.span) == "after: jam_time"
    assert written_at(model.rules[0].span) == "drum is not stopped and lid is open"
    assert written_at(model.rules[0].requirement.condition.parts[1].span) == "lid is open"
    assert written_at(model.walkthroughs[0].steps[1].span) == "press trigger"
    assert written_at(model.settings[0].span) == "jam_time"
