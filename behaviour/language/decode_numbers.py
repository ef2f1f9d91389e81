"""Reads `drives` and `power`: the numbers of motors and batteries, each with its unit.

It knows nothing of what is worked out from them.
"""

from dataclasses import dataclass, field
from itertools import pairwise

from behaviour.language.fields import (
    Fields,
    Owner,
    fields_at,
    items_at,
    known_value,
    mapping_at,
    named_at,
    narrowed,
    word_at,
)
from behaviour.language.nodes import Mapping, Node
from behaviour.language.phrases import there_is
from behaviour.language.reading import Reading
from behaviour.language.syntax import Declared, Word
from behaviour.language.values import figure_of, whole_of
from behaviour.model import Drive, Output, Power, Quantity
from behaviour.source import Span
from behaviour.units import Dimension

DRIVE_FORM = "drum: {kind: stepper, steps: 200, speed: 40 rpm}"
POWER_FORM = "power: {cells: 6, chemistry: li-ion, driver_limit: 36 V}"

DRIVE_KINDS = ("stepper",)
CHEMISTRIES = ("li-ion", "lifepo4", "nimh", "lead-acid", "alkaline")

_KNOWN = ("guess", "maker", "measured")
_COUNTS = ("steps", "microsteps")
_FIGURES = {
    "speed": Dimension.SPEED,
    "ramp": Dimension.RAMP,
    "tolerance": Dimension.SHARE,
}
_GROUPS = {
    "winding": {
        "current": Dimension.CURRENT,
        "inductance": Dimension.INDUCTANCE,
        "resistance": Dimension.RESISTANCE,
    },
    "rotor": {"inertia": Dimension.INERTIA},
    "load": {"inertia": Dimension.INERTIA, "friction": Dimension.TORQUE},
}
_NEVER_NOTHING = frozenset({"speed", "ramp", "gearing"})
"""Figures that a drive could not move with if they were 0; so are numbers of teeth."""
_KEYS = (
    "kind",
    "steps",
    "microsteps",
    "gearing",
    "speed",
    "ramp",
    "ramp_down",
    "winding",
    "rotor",
    "load",
    "torque",
    "stations",
    "tolerance",
    "about",
)


@dataclass(slots=True)
class _Figures:
    """The figures of one part as they are found; `name` is how an unknown one is called."""

    reading: Reading
    name: str
    found: list[tuple[str, Quantity]] = field(default_factory=list)

    def take(self, path: str, node: Node, dimension: Dimension) -> Quantity | None:
        """Read one figure, plain or with where it comes from; keep it unless it is unknown."""
        known, at = None, node
        if isinstance(node, Mapping):
            given = _with_origin(self.reading, node, path)
            if given is None:
                return None
            at, known = given
        says = f"`{path.rpartition('.')[2]}`"
        word = word_at(self.reading, at, says, dimension.value)
        figure = None
        if word is not None:
            figure = figure_of(self.reading, word, (dimension,), f"{self.name}.{path}")
        if word is None or not isinstance(figure, Quantity):
            return None
        if figure.number < 0:
            message = f"`{word.text}` is negative, and this is a size"
            self.reading.mistakes.add(word.span, message, hint="write it without the sign")
        if figure.number == 0 and (path in _NEVER_NOTHING or dimension is Dimension.TEETH):
            message = f"`{word.text}` is nothing, and nothing could move with it"
            self.reading.mistakes.add(word.span, message, hint=f"here stands {dimension.value}")
        quantity = Quantity(number=figure.number, unit=figure.unit, known=known, span=figure.span)
        self.found.append((path, quantity))
        return quantity

    def take_whole(self, path: str, node: Node) -> None:
        """Read a count, which is a whole number of at least one."""
        quantity = self.take(path, node, Dimension.NUMBER)
        if quantity is not None and (quantity.number < 1 or quantity.number % 1):
            message = f"`{path}` is a count, and so a whole number from 1 up"
            self.reading.mistakes.add(quantity.span, message, hint="write `200`")


def _with_origin(reading: Reading, node: Mapping, path: str) -> tuple[Node, str | None] | None:
    form = "{value: 3.8 mH, known: maker}"
    owner = Owner(f"`{path}`", narrowed(node.span), "figure")
    fields = fields_at(reading, node, owner, ("value", "known"), form)
    value = None if fields is None else fields.needed("value", "value: 3.8 mH")
    if fields is None or value is None:
        return None
    known = fields.choice("known", _KNOWN)
    return value, known


# --- Drives -------------------------------------------------------------------------------------


def decode_drives(
    reading: Reading, node: Node, outputs: tuple[Declared[Output], ...], *, all_known: bool
) -> tuple[Drive, ...]:
    """Read every drive; each has the name of one of the motors among `outputs`.

    `all_known` is False where an output may be missing from them.
    """
    found = []
    for name, part in named_at(reading, node, "`drives`", "drive", DRIVE_FORM):
        output = next((output for output in outputs if output.name.text == name.text), None)
        if output is None and all_known:
            motors = [item.name.text for item in outputs if _is_motor(item)]
            near = reading.near(name.text, motors) or tuple(motors)
            reading.mistakes.add(
                name.span,
                f"the drive `{name.text}` has the name of no output",
                label="no such output",
                hint=there_is("motor", near) or "a drive carries the name of its motor",
            )
        elif output is not None and not _is_motor(output):
            message = f"`{name.text}` is not a motor, and so has no drive"
            reading.mistakes.add(name.span, message, hint="give its `outputs` the `kind: motor`")
        drive = _drive(reading, name, part, output)
        if drive is not None:
            found.append(drive)
    return tuple(found)


def _is_motor(output: Declared[Output]) -> bool:
    return output.whole is None or output.whole.kind == "motor"


def _drive(
    reading: Reading, name: Word, node: Node, output: Declared[Output] | None
) -> Drive | None:
    owner = Owner(f"the drive `{name.text}`", name.span, "drive")
    fields = fields_at(reading, node, owner, _KEYS, DRIVE_FORM)
    if fields is None:
        return None
    figures = _Figures(reading, name.text)
    kind = None
    if fields.needed("kind", "kind: stepper") is not None:
        kind = fields.choice("kind", DRIVE_KINDS)
    for key, entry in fields.entries.items():
        if key in _COUNTS:
            figures.take_whole(key, entry.value)
        elif key in _FIGURES:
            figures.take(key, entry.value, _FIGURES[key])
        elif key in _GROUPS:
            _take_group(fields, figures, key, _GROUPS[key])
        elif key == "gearing":
            _take_gearing(figures, name, entry.value)
        elif key == "stations":
            _take_stations(fields, figures, output)
    torque = _torque(fields, name)
    ramp_down = fields.is_yes("ramp_down") or False
    if kind is None:
        return None
    return Drive(
        output=name.text,
        kind=kind,
        figures=tuple(figures.found),
        torque=torque,
        ramp_down=ramp_down,
        span=name.span,
    )


def _take_group(
    fields: Fields, figures: _Figures, key: str, dimensions: dict[str, Dimension]
) -> None:
    node = fields.entries[key].value
    owner = Owner(f"`{key}`", fields.key_span(key), key)
    example = next(iter(dimensions.items()))
    form = f"{key}: {{{example[0]}: {example[1].value.split('`')[1]}}}"
    group = fields_at(fields.reading, node, owner, tuple(dimensions), form)
    for part, entry in ({} if group is None else group.entries).items():
        figures.take(f"{key}.{part}", entry.value, dimensions[part])


def _take_gearing(figures: _Figures, name: Word, node: Node) -> None:
    """Read `gearing`: motor turns per turn of the output, or the teeth of both wheels."""
    keys = {entry.key.text for entry in node.entries} if isinstance(node, Mapping) else set()
    if not isinstance(node, Mapping) or "value" in keys:
        figures.take("gearing", node, Dimension.NUMBER)
        return
    owner = Owner("`gearing`", narrowed(node.span), "gearing")
    form = f"gearing: {{motor: 20 teeth, {name.text}: 90 teeth}}"
    wheels = fields_at(figures.reading, node, owner, ("motor", name.text), form)
    for wheel in ("motor", name.text):
        value = None if wheels is None else wheels.needed(wheel, f"{wheel}: 20 teeth")
        if value is not None:
            figures.take(f"gearing.{wheel}", value, Dimension.TEETH)


def _take_stations(fields: Fields, figures: _Figures, output: Declared[Output] | None) -> None:
    node = fields.entries["stations"].value
    form = "stations: {count: 6, past: {forward: 35 steps}}"
    owner = Owner("`stations`", fields.key_span("stations"), "group of stations")
    stations = fields_at(fields.reading, node, owner, ("count", "past"), form)
    if stations is None:
        return
    count, past = stations.needed("count", "count: 6"), stations.node("past")
    if count is not None:
        figures.take_whole("stations.count", count)
    mapping = None
    if past is not None:
        mapping = mapping_at(fields.reading, past, "`past`", "past: {forward: 35 steps}")
    for entry in () if mapping is None else mapping.entries:
        value = Word(entry.key.text, entry.key.span)
        if output is not None and output.values is not None:
            known_value(fields.reading, value, output.name.text, output.values)
        figures.take(f"stations.past.{value.text}", entry.value, Dimension.STEPS)


def _torque(fields: Fields, name: Word) -> tuple[tuple[Quantity, Quantity], ...]:
    """Read the torque curve: pairs of a speed and the torque left at it, the slowest first."""
    node = fields.node("torque")
    form = "torque: [[0 rpm, 1.9 N m], [300 rpm, 1.2 N m]]"
    pairs = []
    for item in () if node is None else items_at(fields.reading, node, "`torque`", form):
        pair = items_at(fields.reading, item, "a point of `torque`", "[300 rpm, 1.2 N m]")
        point = _Figures(fields.reading, name.text)
        match pair:
            case (at, left):
                speed = point.take("torque", at, Dimension.SPEED)
                torque = point.take("torque", left, Dimension.TORQUE)
                if speed is not None and torque is not None:
                    pairs.append((speed, torque))
            case ():
                pass
            case _:
                message = "a point of `torque` is a speed and a torque"
                fields.reading.mistakes.add(narrowed(item.span), message, hint=f"write `{form}`")
    for (before, _), (after, _) in pairwise(pairs):
        if before.unit == after.unit and before.number >= after.number:
            message = "the speeds of `torque` do not rise"
            hint = "write the points from the slowest to the fastest"
            fields.reading.mistakes.add(after.span, message, label="not faster", hint=hint)
    return tuple(pairs)


# --- Power --------------------------------------------------------------------------------------


def decode_power(reading: Reading, node: Node, at: Span) -> Power | None:
    """Read what feeds the motors; `at` is the place of its key."""
    owner = Owner("`power`", at, "power supply")
    fields = fields_at(reading, node, owner, ("cells", "chemistry", "driver_limit"), POWER_FORM)
    if fields is None:
        return None
    figures = _Figures(reading, "power")
    chemistry = None
    if fields.needed("chemistry", "chemistry: li-ion") is not None:
        chemistry = fields.choice("chemistry", CHEMISTRIES)
    cells = _cells(fields)
    limit = fields.node("driver_limit")
    if limit is not None:
        figures.take("driver_limit", limit, Dimension.VOLTAGE)
    if chemistry is None or cells is None:
        return None
    return Power(chemistry=chemistry, cells=cells, figures=tuple(figures.found), span=at)


def _cells(fields: Fields) -> int | None:
    if fields.needed("cells", "cells: 6") is None:
        return None
    word = fields.word("cells", "a whole number")
    cells = None if word is None else whole_of(fields.reading, word)
    if word is not None and cells == 0:
        message = "a pack has one cell or more"
        fields.reading.mistakes.add(word.span, message, hint="write `cells: 6`")
        return None
    return cells
