"""A picture written in the form that is asked for."""

from collections.abc import Sequence

from behaviour.draw import paint
from behaviour.draw.shapes import Picture
from behaviour.draw.svg import svg


def written(sheet: Picture, pages: Sequence[Picture], form: str) -> bytes:
    """Write a picture as one sheet, `svg` or `png`, or its pages as `pdf`.

    Raises CannotDrawError where that needs a library that is not there.
    """
    match form:
        case "png":
            return paint.png(sheet)
        case "pdf":
            return paint.pdf(pages)
        case _:
            return svg(sheet)
