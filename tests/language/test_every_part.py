"""The file that has every part of the language once, and what the model holds of it."""

from pathlib import Path

from behaviour.language.load import read_model
from behaviour.model import (
    After,
    Excuse,
    HeldFor,
    InputWiring,
    Level,
    Model,
    Part,
    Power,
    Quantity,
    Role,
    Setting,
    Unknown,
)
from behaviour.source import Source

EVERYTHING = Path(__file__).parents[1] / "corpus" / "near_misses" / "everything.yaml"


def everything() -> Model:
    model, mistakes = read_model(Source("any.yaml", EVERYTHING.read_text(encoding="utf-8")))
    assert mistakes == ()
    assert model is not None
    return model


def test_the_head_of_the_file_is_kept() -> None:
    model = everything()

    assert model.about == "A figure behind glass tells a fortune.\nTwo people may stand at it.\n"
    assert (model.watchdog, model.boot) == (250_000, 300_000)
    assert model.firmware_name == "fortune"
    assert model.show == (
        ("switch_on", "turn the key"),
        ("make_safe", "pull the plug: the red one"),
        ("call", "the workshop"),
    )


def test_settings_stand_for_times_ranges_counts_pins_and_figures_and_are_counted() -> None:
    model = everything()

    assert [(setting.name, setting.uses) for setting in model.settings] == [
        ("blink", 1),
        ("hold", 4),
        ("full", 3),
        ("eye_pin", 1),
        ("dim", 1),
        ("later", 1),
    ]
    assert model.counter["cards"].high == 6
    assert model.output["eyes"].wiring.pin == "A3"
    assert model.output["eyes"].wiring.gives == (
        ("glow", Quantity(number=30, unit="%")),
        ("lit", Quantity(number=100, unit="%")),
    )
    lit = next(state for state in model.region["show"].states if state.name == "lit")
    assert lit.leave[0].after == After(200_000, 900_000)


def test_everything_left_open_is_listed_in_the_order_of_the_file() -> None:
    assert everything().unknowns == (
        Unknown("later"),
        Unknown("mode.pins.test"),
        Unknown("card.pin"),
        Unknown("empty.go"),
        Unknown("unlit.after"),
        Unknown("at_home.takes"),
        Unknown("not for long: at most"),
    )


def test_an_unknown_setting_is_one_unknown_wherever_it_is_used() -> None:
    model = everything()
    telling = next(state for state in model.region["show"].states if state.name == "telling")

    assert telling.leave[0].after == After(Unknown("later"), Unknown("later"))


def test_states_that_share_a_name_are_told_apart_by_their_region() -> None:
    text = (EVERYTHING.parent / "states_that_share_names.yaml").read_text(encoding="utf-8")
    model, mistakes = read_model(Source("any.yaml", text))

    assert mistakes == ()
    assert model is not None
    assert [unknown.what for unknown in model.unknowns] == [
        "inner.after",
        "inner.after 2",
        "two.idle.after",
        "blink.at",
    ]


def test_inputs_are_wired_in_the_words_of_the_builder_or_of_the_coder() -> None:
    model = everything()

    assert model.input["lid"].wiring == InputWiring(
        pin="2", pull="up", low="closed", contact="normally closed", pushed="open"
    )
    assert model.input["lid"].unplugged == "open"
    assert model.input["halt"].wiring.low == "released"
    assert (model.input["halt"].safe, model.input["halt"].unplugged) == ("released", "pressed")
    assert model.input["again"].wiring.low == "released"
    assert model.input["home"].unplugged == "away"
    assert model.input["light"].wiring.levels == (
        Level(value="dark", side="below", count=300),
        Level(value="bright", side="above", count=340),
    )
    assert model.input["light"].unplugged == "dark"
    assert model.input["desk"].wiring.silent == 300_000
    assert [item.role for item in model.inputs][:6] == [
        Role.GUARD,
        Role.STOP,
        Role.START,
        Role.RESET,
        Role.HOLD_TO_RUN,
        Role.MODE,
    ]


def test_outputs_keep_what_the_firmware_needs() -> None:
    model = everything()

    assert model.output["arm"].wiring.turns == "other way"
    assert (model.output["head"].rest, model.output["head"].hazard) == ("middle", False)
    assert (model.output["eyes"].wiring.fade, model.output["eyes"].least) == (800_000, 50_000)
    bell = model.output["bell"].wiring
    assert (bell.pulse, bell.gap, bell.on_when) == (120_000, 300_000, "low")
    assert bell.draws == Quantity(number=15, unit="mA")
    assert (model.output["card"].keeps, model.output["card"].hazard) == (True, True)
    assert model.output["lamp"].hazard is True


def test_states_stand_flat_with_parents_before_their_children() -> None:
    states = everything().region["show"].states

    assert [(state.name, state.parent, state.children, state.begins) for state in states] == [
        ("idle", None, (), None),
        ("telling", None, (2, 3), 2),
        ("turning", 1, (), None),
        ("speaking", 1, (), None),
        ("empty", None, (), None),
        ("stopped", None, (), None),
        ("dead", None, (7, 8), 7),
        ("lit", 6, (), None),
        ("unlit", 6, (), None),
    ]
    assert states[6].lockout is True
    assert states[0].ignores == ("crank", "again")
    assert states[1].interlocks[0].when == HeldFor("home", "made", 2_000_000)


def test_staying_leaves_nothing_and_an_end_may_go_to_a_path_of_states() -> None:
    states = everything().region["show"].states
    end = states[3].end

    assert states[0].leave[2].target is None
    assert end is not None
    assert (end.part, end.source, end.target) == (Part.END, 3, 2)
    assert (end.when, end.after) == (None, None)
    assert states[3].cues[0].sets == (Setting("head", "left"), Setting("bell", "ring"))
    assert states[3].cues[1].about == "a look to the right"


def test_numbers_of_transitions_follow_the_file_and_not_their_parts() -> None:
    ways = everything().region["show"].transitions()

    assert [way.number for way in ways] == list(range(len(ways)))
    assert [way.span for way in ways] == sorted(way.span for way in ways)


def test_excuses_are_whole_or_scoped() -> None:
    assert everything().excused == (
        Excuse(check="dead-end", because="the show ends there", region="show", state=6),
        Excuse(check="never-reached", because="a", region="show", state=2),
        Excuse(check="never-reached", because="b", region="arm_position"),
        Excuse(check="unanswered", because="the crank does nothing yet"),
        Excuse(check="unguarded", because="it is a lamp", region="light_show"),
    )


def test_figures_of_a_drive_stand_under_their_path_with_where_they_come_from() -> None:
    (drive,) = everything().drives
    figures = dict(drive.figures)

    assert (drive.output, drive.kind) == ("arm", "stepper")
    assert figures["steps"] == Quantity(number=200, unit="")
    assert figures["gearing.motor"] == Quantity(number=20, unit="teeth")
    assert figures["gearing.arm"] == Quantity(number=90, unit="teeth", known="measured")
    assert figures["winding.inductance"] == Quantity(number=3.8, unit="mH", known="maker")
    assert figures["load.friction"] == Quantity(number=0.3, unit="N m", known="guess")
    assert figures["stations.past.reverse"] == Quantity(number=12, unit="steps")
    assert drive.torque[1] == (
        Quantity(number=300, unit="rpm"),
        Quantity(number=1.2, unit="N m"),
    )


def test_a_pack_is_its_cells_and_what_the_driver_bears() -> None:
    assert everything().power == Power(
        chemistry="li-ion",
        cells=6,
        figures=(("driver_limit", Quantity(number=36, unit="V")),),
    )


def test_a_gearing_may_be_a_ratio() -> None:
    text = EVERYTHING.read_text(encoding="utf-8").replace(
        "gearing: {motor: 20 teeth, arm: {value: 90 teeth, known: measured}}",
        "gearing: {value: 4.5, known: guess}",
    )
    model, mistakes = read_model(Source("any.yaml", text))

    assert mistakes == ()
    assert model is not None
    assert dict(model.drives[0].figures)["gearing"] == Quantity(number=4.5, unit="", known="guess")
