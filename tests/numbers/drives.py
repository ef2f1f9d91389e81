"""Drives built from text, as a file gives them."""

from behaviour.model import Drive, Quantity
from behaviour.units import Figure, read_figure


def quantity(text: str) -> Quantity:
    """Read a figure such as `40 rpm`."""
    figure = read_figure(text)
    assert isinstance(figure, Figure), text
    return Quantity(number=figure.number, unit=figure.unit)


def drive(*, torque: tuple[tuple[str, str], ...] = (), ramp_down: bool = False, **figures: str):
    """Give a drive of the output `drum`; in the names of figures `__` stands for a dot."""
    return Drive(
        output="drum",
        kind="stepper",
        figures=tuple((name.replace("__", "."), quantity(text)) for name, text in figures.items()),
        torque=tuple((quantity(speed), quantity(left)) for speed, left in torque),
        ramp_down=ramp_down,
    )


def carousel(*, ramp_down: bool = False, **others: str) -> Drive:
    """Give the drive of `numbers.md`."""
    figures = {
        "steps": "200",
        "microsteps": "8",
        "gearing": "4.5",
        "speed": "40 rpm",
        "ramp": "150 rpm/s",
        "winding__current": "2.8 A",
        "winding__inductance": "3.8 mH",
        "load__inertia": "0.02 kg m2",
        "load__friction": "0.3 N m",
        "stations__count": "6",
        "stations__past__forward": "35 steps",
        "stations__past__reverse": "12 steps",
        "tolerance": "15 %",
    }
    curve = (("0 rpm", "1.9 N m"), ("300 rpm", "1.2 N m"), ("600 rpm", "0.5 N m"))
    return drive(torque=curve, ramp_down=ramp_down, **(figures | others))
