"""What a Raspberry Pi's pins do by themselves: pauses, pulses, fading, angles, readings, steps.

At gpiozero's mock pins.
"""

import threading
from itertools import pairwise
from typing import Any

import pytest

from behaviour.numbers.ramp import StepPlan, intervals
from tests.firmware.mock_pins import loaded, pin_of, pins, powered_up
from tests.firmware.props import spec

__all__ = ["pins"]

CHEST = spec("treasure-chest")

# --- What pins do by themselves -----------------------------------------------------------------


def test_a_motor_rests_before_it_turns_the_other_way() -> None:
    module = loaded(CHEST)  # pause: 300 ms
    arm = powered_up(module).outputs["arm"]

    def shows(value: str, now_ms: int) -> tuple[bool, bool]:
        arm.drive(value, now_ms)
        return pin_of(module, "arm_rising").state, pin_of(module, "arm_sinking").state

    assert shows("rising", 0) == (True, False)
    assert shows("sinking", 10) == (False, False)
    assert shows("sinking", 300) == (False, False)
    assert shows("sinking", 310) == (False, True)
    assert shows("stopped", 400) == (False, False)
    assert shows("sinking", 410) == (False, True)  # the same way again needs no pause
    assert shows("stopped", 500) == (False, False)
    assert shows("rising", 799) == (False, False)
    assert shows("rising", 800) == (True, False)


def test_both_ways_of_a_motor_are_never_on_together() -> None:
    module = loaded(CHEST, ARM_PAUSE_MS=0)
    arm, both = powered_up(module).outputs["arm"], []
    for pin in (pin_of(module, "arm_rising"), pin_of(module, "arm_sinking")):
        change = pin._change_state

        def watched(value: float, change: Any = change) -> bool:
            found = change(value)
            states = [pin_of(module, f"arm_{way}").state for way in ("rising", "sinking")]
            both.append(all(states))
            return bool(found)

        pin._change_state = watched
    for at, value in enumerate(["rising", "sinking", "rising", "stopped", "sinking"]):
        arm.drive(value, at)
        arm.drive(value, at)
    assert len(both) >= 6
    assert not any(both)


def test_a_motor_wired_the_other_way_has_its_ways_exchanged() -> None:
    module = loaded(CHEST, ARM_TURNS="other way")
    board = powered_up(module)
    board.outputs["arm"].drive("rising", 0)
    assert not pin_of(module, "arm_rising").state
    assert pin_of(module, "arm_sinking").state


def test_a_sound_is_a_pulse_and_a_gap() -> None:
    module = loaded(CHEST)  # on_when: low, pulse: 120 ms, gap: 300 ms
    moan = powered_up(module).outputs["moan"]

    def shows(value: str, now_ms: int) -> tuple[bool, bool]:
        moan.drive(value, now_ms)
        return not pin_of(module, "moan_creak").state, not pin_of(module, "moan_laugh").state

    assert shows("creak", 0) == (True, False)
    assert shows("creak", 110) == (True, False)
    assert shows("creak", 120) == (False, False)
    assert shows("laugh", 200) == (False, False)
    assert shows("laugh", 419) == (False, False)
    assert shows("laugh", 420) == (False, True)
    assert shows("silent", 430) == (False, True)
    assert shows("silent", 540) == (False, False)


def test_a_light_fades_to_its_share() -> None:
    module = loaded(CHEST)  # gives: ember 15 %, blaze 90 %; fade: 800 ms
    glow = powered_up(module).outputs["glow"]
    shown = []
    for now_ms in range(10, 900, 10):
        glow.drive("blaze", now_ms)
        shown.append(pin_of(module, "glow").state)
    assert shown == sorted(shown)
    assert max(b - a for a, b in pairwise(shown)) <= 10 / 800 + 1e-9
    assert shown[-1] == pytest.approx(0.9)
    glow.rest()
    assert pin_of(module, "glow").state == 0


def test_a_servo_goes_to_the_angle_of_each_value() -> None:
    module = loaded(spec("fortune-teller"))  # gives: shut 15 deg, talking 40 deg
    jaw = module.Board().outputs["jaw"]
    assert jaw.device.angle == pytest.approx(15)
    jaw.drive("talking", 0)
    assert jaw.device.angle == pytest.approx(40)
    jaw.rest()
    assert jaw.device.angle == pytest.approx(15)


@pytest.mark.parametrize("pull", ["up", "down", "none"])
def test_a_contact_reads_by_its_level_whatever_pulls_it(pull: str) -> None:
    module = loaded(CHEST, LOW_PULL=pull)  # low: made
    contact, pin = module.wired_inputs()["low"], pin_of(module, "low")
    assert pin.pull == {"none": "floating"}.get(pull, pull)
    pin.drive_low()
    assert contact.read() == "made"
    pin.drive_high()
    assert contact.read() == "clear"


def test_a_selector_reads_what_is_chosen_and_between_two_what_it_read_last() -> None:
    module = loaded(spec("rotating-sign"))
    module.Levels = lambda *_: None
    light = module.wired_inputs()["light"]
    dusk, always = pin_of(module, "light_dusk"), pin_of(module, "light_always")
    assert light.read() == "off"
    dusk.drive_low()
    assert light.read() == "dusk"
    always.drive_low()
    assert light.read() == "dusk"
    dusk.drive_high()
    assert light.read() == "always"
    always.drive_high()
    assert light.read() == "off"


def test_an_analogue_reading_keeps_its_value_between_the_levels() -> None:
    module = loaded(spec("rotating-sign"))  # dim: below 300, bright: above 340, of 1023
    sky = module.Levels(0, [("dim", "below", 300), ("bright", "above", 340)], 1023, "bright")
    converter = type("Converter", (), {"value": 0.0})()
    sky.device.close()
    sky.device = converter
    found = []
    for count in (299, 300, 320, 340, 341, 320, 300, 299):
        converter.value = count / 1023
        found.append(sky.read())
    assert found == ["dim", "dim", "dim", "dim", "bright", "bright", "bright", "dim"]


# --- Steps --------------------------------------------------------------------------------------


@pytest.mark.parametrize("steps", [1, 2, 35, 800])
def test_the_intervals_of_a_move_are_those_that_the_numbers_have(steps: int) -> None:
    module = loaded(spec("lantern-wheel"))
    first, shortest = module.WHEEL_STEPS_FIRST, module.WHEEL_STEPS_SHORTEST
    made = module.Intervals(first, shortest, False)
    made.begin(steps)
    found = []
    while (wait_us := made.next()) > 0:
        found.append(wait_us)
    assert found == list(intervals(StepPlan(first, shortest), steps))


def test_a_stepper_that_ramps_down_loses_speed_as_it_gained_it() -> None:
    module = loaded(spec("lantern-wheel"))
    made = module.Intervals(module.WHEEL_STEPS_FIRST, module.WHEEL_STEPS_SHORTEST, True)
    made.begin(module.ENDLESS)
    gained = [made.next() for _ in range(40)]
    made.rest()
    lost = []
    while (wait_us := made.next()) > 0:
        lost.append(wait_us)
    assert len(lost) == 39
    assert lost[-1] == gained[0]


def stepping(module: Any, name: str = "wheel") -> tuple[Any, list[bool], threading.Event]:
    """Give a stepper, the direction at each of its steps, and an event set with every step."""
    wheel = module.wired_outputs()[name]
    made, came = [], threading.Event()
    step_on = wheel.step.on

    def counted() -> None:
        made.append(bool(wheel.direction.value))
        came.set()
        step_on()

    wheel.step.on = counted
    return wheel, made, came


def test_a_move_makes_each_step_once_and_is_done_then() -> None:
    module = loaded(spec("lantern-wheel"), WHEEL_STEPS_FIRST=25_600, WHEEL_STEPS_SHORTEST=25_600)
    wheel, made, _ = stepping(module)
    assert not pin_of(module, "wheel_enable").state
    wheel.move("forward", 40, 0)
    waited = threading.Event()
    for _ in range(500):
        if wheel.is_done():
            break
        waited.wait(0.01)
    assert wheel.is_done()
    assert made == [True] * 40
    assert pin_of(module, "wheel_enable").state
    wheel.move("forward", 0, 10)
    wheel.drive("stopped", 20)
    assert len(made) == 40
    wheel.close()


def test_a_stepper_at_rest_makes_one_step_more_at_most() -> None:
    module = loaded(spec("lantern-wheel"), WHEEL_STEPS_FIRST=25_600, WHEEL_STEPS_SHORTEST=25_600)
    wheel, made, came = stepping(module)
    wheel.drive("forward", 0)
    assert came.wait(5)
    wheel.drive("stopped", 10)
    at = len(made)
    threading.Event().wait(0.05)
    assert len(made) <= at + 1
    wheel.close()


def test_a_stepper_comes_to_rest_before_it_turns_the_other_way() -> None:
    quick = {"SIGN_STEPS_FIRST": 25_600, "SIGN_STEPS_SHORTEST": 25_600, "SIGN_PAUSE_MS": 0}
    module = loaded(spec("rotating-sign"), **quick)
    sign, made, came = stepping(module, "sign")
    sign.drive("forward", 0)
    assert came.wait(5)
    for at in range(1, 200):
        sign.drive("reverse", at * 10)
        if sign.told == "reverse":
            break
        threading.Event().wait(0.001)
    assert sign.told == "reverse"
    threading.Event().wait(0.02)
    sign.close()
    turned = made.index(False)
    assert turned > 0
    assert not any(made[turned:])


def test_the_driver_of_a_stepper_goes_off_after_a_while_at_rest() -> None:
    quick = {"WHEEL_STEPS_FIRST": 25_600, "WHEEL_STEPS_SHORTEST": 25_600, "WHEEL_HOLD_MS": 40}
    module = loaded(spec("lantern-wheel"), **quick)
    wheel, _, came = stepping(module)
    enable = pin_of(module, "wheel_enable")
    wheel.drive("forward", 0)
    assert came.wait(5)
    assert enable.state
    wheel.drive("stopped", 10)
    assert enable.state
    for _ in range(500):
        if not enable.state:
            break
        threading.Event().wait(0.01)
    assert not enable.state
    wheel.close()
