"""The controllers that firmware is written for, each a data file beside this one."""

from dataclasses import dataclass
from importlib.resources import files

NOT_YET = ("uno", "nano", "mega", "esp32", "pico")


class UnknownControllerError(ValueError):
    """There is no such controller, or not yet; the message says which there are."""


@dataclass(frozen=True, slots=True)
class Controller:
    """A controller: its name, what it is, and the file that holds its loop."""

    name: str
    about: str
    loop_file: str


def controller(name: str) -> Controller:
    """Look a controller up. Raises UnknownControllerError where it cannot be emitted for."""
    if name in NOT_YET:
        raise UnknownControllerError(f"no firmware for `{name}` yet: emit for `host`")
    found = files(__name__).joinpath("host.yaml")
    if name != "host":
        known = ", ".join(f"`{each}`" for each in ("host", *NOT_YET))
        raise UnknownControllerError(
            f"there is no controller `{name}`: the names are {known}, of which `host` works so far"
        )
    return _read(found.read_text(encoding="utf-8"))


def _read(text: str) -> Controller:
    import yaml

    data = yaml.safe_load(text)
    return Controller(
        name=str(data["controller"]), about=str(data["about"]), loop_file=str(data["loop_file"])
    )
