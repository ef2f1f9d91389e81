"""Reads `drives`: the numbers of motors, each with its unit.

It knows nothing of what is worked out from them.
"""

from itertools import pairwise

from behaviour.language.decode_figures import FoundFigures, figure_with_origin, figures_of
from behaviour.language.fields import (
    Fields,
    Owner,
    fields_at,
    items_at,
    known_value,
    mapping_at,
    named_at,
    narrowed,
)
from behaviour.language.nodes import Mapping, Node
from behaviour.language.phrases import there_is
from behaviour.language.reading import Reading
from behaviour.language.shapes import TEXT, YES_NO, Choice, Either, Group, ListOf, by_value
from behaviour.language.syntax import Declared, Word
from behaviour.model import Drive, Output, Quantity
from behaviour.units import Dimension

DRIVE_FORM = "drum: {kind: stepper, steps: 200, speed: 40 rpm}"

DRIVE_KINDS = ("stepper",)

_COUNTS = ("steps", "microsteps")
_FIGURES = {
    "speed": Dimension.SPEED,
    "ramp": Dimension.RAMP,
    "tolerance": Dimension.SHARE,
    "efficiency": Dimension.SHARE,
    "stalled": Dimension.SPEED,
}
_GROUPS = {
    "winding": {
        "current": Dimension.CURRENT,
        "inductance": Dimension.INDUCTANCE,
        "resistance": Dimension.RESISTANCE,
    },
    "rotor": {"inertia": Dimension.INERTIA},
}
_LOAD = {"inertia": Dimension.INERTIA, "friction": Dimension.TORQUE}
_PART = {
    "mass": Dimension.MASS,
    "diameter": Dimension.LENGTH,
    "at": Dimension.LENGTH,
    "count": Dimension.NUMBER,
}
_HANGING = {"mass": Dimension.MASS, "radius": Dimension.LENGTH}
_MORE_THAN_NOTHING = frozenset({"speed", "ramp", "efficiency", "stalled"})
_LOAD_SHAPE = Group(
    "load",
    {
        **figures_of(_LOAD),
        "parts": ListOf(Group("part of the load", figures_of(_PART), needed=(next(iter(_PART)),))),
        "hangs": Group("hanging load", figures_of(_HANGING)),
    },
)
_STATIONS = Group(
    "group of stations",
    {
        "count": figure_with_origin(Dimension.NUMBER),
        "past": by_value(figure_with_origin(Dimension.STEPS)),
    },
    needed=("count",),
)
_GEARING = Either(
    (figure_with_origin(Dimension.NUMBER), by_value(figure_with_origin(Dimension.TEETH)))
)
_POINT = Either((figure_with_origin(Dimension.SPEED), figure_with_origin(Dimension.TORQUE)))
DRIVE = Group(
    "drive",
    {
        "kind": Choice(DRIVE_KINDS),
        **{key: figure_with_origin(Dimension.NUMBER) for key in _COUNTS},
        "gearing": _GEARING,
        **figures_of(_FIGURES),
        "ramp_down": YES_NO,
        **{key: Group(key, figures_of(group)) for key, group in _GROUPS.items()},
        "load": _LOAD_SHAPE,
        "torque": ListOf(ListOf(_POINT, least=2, most=2)),
        "stations": _STATIONS,
        "about": TEXT,
    },
    needed=("kind",),
)


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
    fields = fields_at(reading, node, owner, DRIVE.keys, DRIVE_FORM)
    if fields is None:
        return None
    figures = FoundFigures(reading, name.text)
    kind = None
    if fields.needed("kind", "kind: stepper") is not None:
        kind = fields.choice("kind", DRIVE_KINDS)
    for key, entry in fields.entries.items():
        if key in _COUNTS:
            figures.take_whole(key, entry.value)
        elif key in _FIGURES:
            is_more = key in _MORE_THAN_NOTHING
            figures.take(key, entry.value, _FIGURES[key], is_more=is_more)
        elif key in _GROUPS:
            figures.take_group(fields, key, _GROUPS[key])
        elif key == "load":
            _take_load(fields, figures)
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


def _take_load(fields: Fields, figures: FoundFigures) -> None:
    """Read `load`: its inertia or the parts that it is worked out from, and what resists."""
    owner = Owner("`load`", fields.key_span("load"), "load")
    form = "load: {inertia: 0.02 kg m2, friction: 0.3 N m}"
    load = fields_at(figures.reading, fields.entries["load"].value, owner, _LOAD_SHAPE.keys, form)
    if load is None:
        return
    for key, entry in load.entries.items():
        if key in _LOAD:
            figures.take(f"load.{key}", entry.value, _LOAD[key])
        elif key == "parts":
            figures.take_list("load.parts", entry.value, "part of the load", _PART)
        else:
            figures.take_group(load, "hangs", _HANGING, "load.")
    if load.has("inertia") and load.has("parts"):
        message = "`inertia` and `parts` do not stand together"
        load.refuse("parts", message, hint="the parts give the inertia: keep one of them")


def _take_gearing(figures: FoundFigures, name: Word, node: Node) -> None:
    """Read `gearing`: motor turns per turn of the output, or the teeth of both wheels."""
    keys = {entry.key.text for entry in node.entries} if isinstance(node, Mapping) else set()
    if not isinstance(node, Mapping) or "value" in keys:
        figures.take("gearing", node, Dimension.NUMBER, is_more=True)
        return
    owner = Owner("`gearing`", narrowed(node.span), "gearing")
    form = f"gearing: {{motor: 20 teeth, {name.text}: 90 teeth}}"
    wheels = fields_at(figures.reading, node, owner, ("motor", name.text), form)
    for wheel in ("motor", name.text):
        value = None if wheels is None else wheels.needed(wheel, f"{wheel}: 20 teeth")
        if value is not None:
            figures.take(f"gearing.{wheel}", value, Dimension.TEETH, is_more=True)


def _take_stations(fields: Fields, figures: FoundFigures, output: Declared[Output] | None) -> None:
    node = fields.entries["stations"].value
    form = "stations: {count: 6, past: {forward: 35 steps}}"
    owner = Owner("`stations`", fields.key_span("stations"), "group of stations")
    stations = fields_at(fields.reading, node, owner, _STATIONS.keys, form)
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
        point = FoundFigures(fields.reading, name.text)
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
