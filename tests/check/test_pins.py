"""What a controller cannot do with a pin is told, and what it just can is not."""

import pytest

from behaviour.controllers import NAMES, controller
from behaviour.findings import Answer
from behaviour.pipeline import Checked, check_source
from behaviour.source import Source

PROP = """language: 1
prop: Anything
loop: 10 ms
{top}
inputs:
  push: {{kind: button, steady: 20 ms, {push}}}
  sky: {{kind: sensor, values: [dim, bright], steady: 100 ms, {sky}}}
outputs:
{outputs}
regions:
  all:
    begins: waiting
    states:
      waiting: {{leave: [{{when: push becomes pressed, go: done_it}}]}}
      done_it: {{leave: [{{when: sky is dim, after: 1 s, go: waiting}}]}}
"""


def checked(
    *outputs: str, board: str | None = "uno", push: str = "pin: 2, pull: up", sky: str = "", **more
) -> Checked:
    lines = "\n".join(f"  {line}" for line in outputs or ("lamp: {kind: lamp, values: [off, on]}",))
    text = PROP.format(
        push=push, sky=sky or "about: unwired", outputs=lines, top=more.get("top", "")
    )
    result = check_source(Source("pins.yaml", text), 30.0, controller=board)
    assert isinstance(result, Checked), result
    return result


def told(*outputs: str, **wiring) -> list[str]:
    return [
        f"{each.kind.name}: {each.message}"
        for each in checked(*outputs, **wiring).outcome.findings
        if each.kind.name.startswith("pin-")
    ]


def test_every_controller_can_be_read_and_every_pin_has_one_number():
    for name in NAMES:
        board = controller(name)
        assert board.name == name
        assert len({pin.number for pin in board.pins}) == len(board.pins)
        assert board.has_pins == (name != "host")


@pytest.mark.parametrize(
    ("name", "pwm", "interrupt", "analogue"),
    [
        # ArduinoCore-avr, variants/standard and variants/mega, pins_arduino.h
        ("uno", "3 5 6 9 10 11", "2 3", "A0 A1 A2 A3 A4 A5"),
        ("nano", "3 5 6 9 10 11", "2 3", "A0 A1 A2 A3 A4 A5 A6 A7"),
        (
            "mega",
            "2 3 4 5 6 7 8 9 10 11 12 13 44 45 46",
            "2 3 18 19 20 21",
            " ".join(f"A{number}" for number in range(16)),
        ),
    ],
)
def test_pins_are_those_of_the_makers_header(name, pwm, interrupt, analogue):
    pins = controller(name).pins

    assert [pin.name for pin in pins if pin.pwm] == pwm.split()
    assert [pin.name for pin in pins if pin.interrupt] == interrupt.split()
    assert [pin.name for pin in pins if pin.analogue] == analogue.split()


def test_two_wires_on_one_pin_clash_with_a_controller_or_without():
    wired = {"push": "pin: 4, pull: up"}
    lamp = "lamp: {kind: lamp, values: [off, on], pin: 4}"

    assert told(lamp, board=None, **wired) == ["pin-clash: `push` and `lamp` are both on pin `4`"]
    assert told(lamp, **wired) == ["pin-clash: `push` and `lamp` are both on pin `4`"]


def test_a_pin_of_two_names_is_one_pin():
    lamp = "lamp: {kind: lamp, values: [off, on], pin: 14}"
    wired = {"push": "pin: A0, pull: up"}

    assert told(lamp, **wired) == [
        "pin-clash: `push` and `lamp` are both on pin `14`, which is `A0` too"
    ]
    assert told(lamp, board=None, **wired) == []


def test_without_a_controller_nothing_is_said_of_fitness():
    outcome = checked("lamp: {kind: lamp, values: [off, on], pin: 99}", board=None).outcome

    assert [each.name for each in outcome.checks if each.name.startswith("pin-")] == ["pin-clash"]


def test_a_pin_that_is_not_known_yet_leaves_both_undecided():
    outcome = checked("lamp: {kind: lamp, values: [off, on], pin: unknown}").outcome

    answers = {each.name: each for each in outcome.checks if each.name.startswith("pin-")}
    assert [each.answer for each in answers.values()] == [Answer.NOT_DECIDED] * 2
    assert answers["pin-unfit"].why == "needs `lamp.pin`, which is not known yet"


@pytest.mark.parametrize(
    ("board", "outputs", "wired", "message"),
    [
        (
            "uno",
            "lamp: {kind: lamp, values: [off, on], pin: 22}",
            {},
            "`lamp` is on pin `22`, and `uno` has none of that name",
        ),
        (
            "uno",
            "lamp: {kind: lamp, values: [off, on], pin: 1}",
            {},
            (
                "`lamp` is on pin `1` of `uno`, which carries the serial line: programs are loaded "
                "and the trace is written there"
            ),
        ),
        (
            "uno",
            "lamp: {kind: lamp, values: [off, on], pin: 4, gives: {on: 40 %}}",
            {},
            "`lamp` is on pin `4` of `uno`, which is on or off, and it gives a part or fades",
        ),
        (
            "uno",
            "valve: {kind: valve, values: [shut, open], pin: 13}",
            {},
            (
                "the hazard `valve` is on pin `13` of `uno`: its light blinks while a new program "
                "is loaded and at every reset"
            ),
        ),
        (
            "uno",
            "",
            {"push": "pin: 4, pull: down"},
            "`push` is on pin `4` of `uno`, which has no pull down of its own",
        ),
        (
            "uno",
            "",
            {"sky": "pin: 7, levels: {dim: below 300, bright: above 340}"},
            "`sky` is on pin `7` of `uno`, which reads on and off alone, and it has `levels`",
        ),
        (
            "uno",
            "",
            {"sky": "pin: A1, levels: {dim: below 900, bright: above 1024}"},
            "`sky` has a level at 1024, and `uno` reads from 0 to 1023",
        ),
        (
            "nano",
            "",
            {"push": "pin: A6, pull: none, low: pressed"},
            "`push` is on pin `A6` of `nano`, which reads levels alone and no on and off",
        ),
        (
            "esp32",
            "lamp: {kind: lamp, values: [off, on], pin: GPIO34}",
            {"push": "pin: 4, pull: up"},
            "`lamp` is on pin `34` of `esp32`, which only reads",
        ),
        (
            "esp32",
            "lamp: {kind: lamp, values: [off, on], pin: 9}",
            {"push": "pin: 4, pull: up"},
            "`lamp` is on pin `9` of `esp32`: the flash memory hangs on it",
        ),
        (
            "esp32",
            "",
            {"push": "pin: 12, pull: up"},
            (
                "`push` is on pin `12` of `esp32`, which is looked at while the controller starts: "
                "high while it starts keeps it from starting"
            ),
        ),
    ],
)
def test_what_a_pin_cannot_do_is_told(board, outputs, wired, message):
    found = told(*([outputs] if outputs else []), board=board, **wired)

    assert found == [f"pin-unfit: {message}"]


def test_a_servo_takes_the_pwm_of_its_timers_pins():
    gives = "gives: {shut: 10 deg, open: 60 deg}"
    servo = f"jaw: {{kind: servo, hazard: no, values: [shut, open], pin: 4, {gives}}}"
    near = "glow: {kind: light, values: [dark, lit], pin: 9, fade: 1 s}"
    far = "glow: {kind: light, values: [dark, lit], pin: 3, fade: 1 s}"

    assert told(servo, near) == [
        "pin-unfit: `glow` is on pin `9` of `uno`, and the servos take the PWM of that pin"
    ]
    assert told(servo, far) == []


def test_pins_of_a_pico_that_share_a_pwm_are_told_apart_only_where_both_dim():
    def light(name: str, pin: str, more: str) -> str:
        return f"{name}: {{kind: light, values: [dark, lit], pin: {pin}{more}}}"

    fades = ", fade: 1 s"
    wired = {"board": "pico", "push": "pin: GP7, pull: up"}
    assert told(light("a", "GP0", fades), light("b", "GP16", fades), **wired) == [
        "pin-unfit: `b` is on pin `16` of `pico`, which has the same PWM as the pin of `a`"
    ]
    assert told(light("a", "GP0", fades), light("b", "GP16", ""), **wired) == []


PORTS_B_AND_D = "`5`, `6`, `7`, `8`, `9`, `10`, `11`, `12`, `13`"


def lamps(count: int, draws: str, more: str = "") -> list[str]:
    return [
        f"lamp{at}: {{kind: lamp, values: [off, on], pin: {at + 4}, draws: {draws}{more}}}"
        for at in range(count)
    ]


def test_a_pin_gives_no_more_than_it_may():
    assert told(*lamps(1, "20 mA")) == []
    assert told(*lamps(1, "21 mA")) == [
        "pin-unfit: `lamp0` draws 21 mA, and a pin of `uno` may give 20 mA"
    ]
    assert told(*lamps(1, "0.02 A")) == []


def test_what_pins_give_together_is_added_up():
    # data sheet 8271H page 301: 150 mA given by PB0-PB5 and PD5-PD7, 100 mA taken
    assert told(*lamps(9, "16 mA")) == []
    assert told(*lamps(9, "18.75 mA")) == []
    assert told(*lamps(9, "20 mA")) == [
        (
            f"pin-unfit: the pins {PORTS_B_AND_D} give 160 mA together "
            "at the worst, and may do 150 mA"
        )
    ]
    assert told(*lamps(9, "13 mA", ", on_when: low")) == [
        (
            f"pin-unfit: the pins {PORTS_B_AND_D} take 104 mA together "
            "at the worst, and may do 100 mA"
        )
    ]


def test_of_pins_that_are_never_on_together_one_counts():
    one = "lamp: {kind: lamp, values: [off, red, green], pins: {red: 5, green: 6}, draws: 20 mA}"

    others = [line.replace("lamp", "other", 1) for line in lamps(9, "20 mA")][3:]

    assert told(one, *others) == []  # 140 mA, and 160 if red and green were on together


def test_an_excuse_makes_a_note_of_it():
    text = "excused: {pin-unfit: a resistor pulls it down}"
    outcome = checked(push="pin: 4, pull: down", top=text).outcome

    assert [each.severity.value for each in outcome.findings if each.kind.name == "pin-unfit"] == [
        "note"
    ]
