"""A picture written in the form that is asked for."""

from typing import Literal

from behaviour.draw import paint
from behaviour.draw.shapes import Picture
from behaviour.draw.svg import svg


def written(picture: Picture, form: Literal["svg", "png", "pdf", "dot", "vcd"]) -> bytes:
    """Write a picture. Raises CannotDrawError where that needs a library that is not there."""
    match form:
        case "png":
            return paint.png(picture)
        case "pdf":
            return paint.pdf((picture,))
        case _:
            return svg(picture)
