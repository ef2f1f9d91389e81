"""Emitted modules for a Raspberry Pi, loaded with gpiozero's mock pins under them."""

from collections.abc import Iterator
from dataclasses import replace
from types import ModuleType
from typing import Any

import pytest
from gpiozero import Device
from gpiozero.pins.mock import MockFactory, MockPWMPin

from behaviour.model import Model
from codegen.python.source import python_module


@pytest.fixture(autouse=True)
def pins() -> Iterator[MockFactory]:
    """Let every pin be a mock one, new for each test."""
    factory = MockFactory(pin_class=MockPWMPin)
    before, Device.pin_factory = Device.pin_factory, factory
    yield factory
    factory.close()
    Device.pin_factory = before


def text_of(model: Model, name: str = "any") -> str:
    return python_module(replace(model, firmware_name=name), "any.yaml", name)


def as_emitted(model: Model) -> Any:
    """Give the module as it comes out, whatever is still open in it."""
    module = ModuleType("any")
    exec(compile(text_of(model), "any.py", "exec"), module.__dict__)
    return module


def loaded(model: Model, **settings: object) -> Any:
    """Give the module with every open setting set: pins that are free, from the highest down."""
    module = as_emitted(model)
    used = {value for name, value in vars(module).items() if "PIN" in name}
    free = (pin for pin in range(27, 1, -1) if pin not in used)
    for name in module.OPEN:
        setattr(module, name, next(free))
    for name, value in settings.items():
        assert hasattr(module, name)
        setattr(module, name, value)
    module.OPEN.clear()
    return module


def powered_up(module: Any) -> Any:
    """Give the board of a prop that was powered up; its pins go with it."""
    board = module.Board()
    module.power_up(module.Prop(), board, 0)
    return board


def pin_of(module: Any, name: str) -> Any:
    return Device.pin_factory.pin(getattr(module, f"{name.upper()}_PIN"))
