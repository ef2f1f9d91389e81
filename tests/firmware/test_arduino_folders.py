"""Every demo prop as an Arduino folder compiles without a word: by the real core, or its stub."""

from dataclasses import replace
from pathlib import Path

import pytest

from codegen.arduino.cores import is_arduino
from codegen.emit import emit
from codegen.keep import write_files
from codegen.refusals import CannotEmitError
from tests.firmware.arduino import arduino_complaints, fits, repinned
from tests.firmware.board_props import board_props
from tests.firmware.props import PROPS, demo_names, spec

CONTROLLERS = ("uno", "nano", "mega", "esp32", "pico")
MODELS = {name: spec(name) for name in demo_names()} | board_props()
AS_WIRED = [
    (name, controller)
    for name, model in MODELS.items()
    for controller in ("uno", "nano", "mega")
    if fits(model, controller)
]
WIRED_ANEW = [
    (name, controller)
    for name, model in MODELS.items()
    for controller in CONTROLLERS
    if (name, controller) not in AS_WIRED and repinned(model, controller) is not None
]
TOO_MANY_WIRES = {"uno": 2, "nano": 2, "mega": 0, "esp32": 2, "pico": 0}
"""How many of the props have more wires than a controller has pins for them."""


def emitted(model, name: str, controller: str, directory: Path) -> Path:
    write_files(directory, emit(model, f"{name}.yaml", controller))
    (folder,) = directory.iterdir()
    return folder


@pytest.mark.parametrize(("name", "controller"), AS_WIRED)
def test_a_demo_prop_compiles_with_the_real_core(name, controller, tmp_path):
    folder = emitted(MODELS[name], name, controller, tmp_path)

    assert (folder / f"{folder.name}.ino").exists()
    assert arduino_complaints(folder, controller) == ""


@pytest.mark.parametrize(("name", "controller"), WIRED_ANEW)
def test_a_demo_prop_on_other_pins_compiles_for_every_controller(name, controller, tmp_path):
    model = repinned(MODELS[name], controller)
    assert model is not None

    folder = emitted(model, name, controller, tmp_path)

    assert arduino_complaints(folder, controller) == ""


@pytest.mark.parametrize("name", PROPS)
def test_a_prop_without_pins_lacks_nothing_but_what_is_the_coders(name, tmp_path):
    folder = emitted(PROPS[name], name, "mega", tmp_path)

    said = arduino_complaints(folder, "mega").splitlines()

    assert all(line.endswith(' yet"') and "#error" in line for line in said)


def test_what_shares_a_pwm_with_a_servo_or_is_on_as_its_pwm_begins_is_refused():
    shining = repinned(MODELS["shining"], "esp32")
    assert shining is not None
    warm = next(each for each in shining.outputs if each.name == "warm")
    low = replace(warm, wiring=replace(warm.wiring, on_when="low"))
    others = tuple(each for each in shining.outputs if each.name != "warm")
    teller = repinned(spec("fortune-teller"), "pico")
    assert teller is not None
    jaw, *rest = teller.outputs
    crystal = next(each for each in rest if each.name == "crystal")
    pin = int(str(crystal.wiring.pins[0][1])) + 16  # the PWM of a pin is that of the pin 16 on
    beside = replace(jaw, wiring=replace(jaw.wiring, pin=str(pin)))

    with pytest.raises(CannotEmitError, match="`warm` is on when low, and would be on"):
        emit(replace(shining, outputs=(*others, low)), "s.yaml", "esp32")
    with pytest.raises(CannotEmitError, match="has one PWM with the servo `jaw`"):
        emit(replace(teller, outputs=(beside, *rest)), "t.yaml", "pico")


def test_a_name_that_may_be_the_chips_own_is_refused():
    model = replace(MODELS["moving"], firmware_name="PORTB")

    with pytest.raises(CannotEmitError, match="`PORTB` may be a name of the chip's own"):
        emit(model, "moving.yaml", "uno")


@pytest.mark.parametrize("controller", CONTROLLERS)
def test_two_emits_for_a_board_give_the_same_bytes(controller):
    model = repinned(MODELS["moving"], controller)
    assert model is not None

    assert emit(model, "moving.yaml", controller) == emit(model, "moving.yaml", controller)


def test_every_prop_was_compiled_for_every_controller_that_has_the_pins_for_it():
    done = {*AS_WIRED, *WIRED_ANEW}

    for controller in CONTROLLERS:
        left = [name for name in MODELS if (name, controller) not in done]
        assert len(left) == TOO_MANY_WIRES[controller], left
    assert {("confetti-carousel", "uno"), ("confetti-carousel", "nano")} <= set(AS_WIRED)
    assert {(name, "mega") for name in demo_names()} <= set(AS_WIRED)
    assert all(map(is_arduino, CONTROLLERS))
