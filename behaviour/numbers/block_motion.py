"""The motion of a drive: its steps, its moves, its step generator, and how it comes to rest."""

from itertools import accumulate, islice

from behaviour.model import Drive, Model, Quantity
from behaviour.numbers.block_windows import stop_result, windows
from behaviour.numbers.boards import board_of
from behaviour.numbers.figures import Figures, Missing, combined, figures_of, known
from behaviour.numbers.motion import (
    Motion,
    Move,
    Shape,
    gearing,
    motion_of,
    move,
    ramp_rate,
    step_rate,
    steps_of,
    steps_per_turn,
)
from behaviour.numbers.motion_chart import move_chart
from behaviour.numbers.ramp import (
    COUNTS,
    LEAD,
    PART,
    exact_interval,
    first_interval,
    followed,
    interval_at,
    intervals,
    other_place,
    plan,
    ramp_between,
    speed_at,
    steps_to_speed,
)
from behaviour.numbers.results import (
    KINEMATICS,
    Block,
    Chart,
    Given,
    Lacking,
    Result,
    Table,
    assumed,
    from_file,
    guessed,
    result,
    taken,
)
from behaviour.numbers.torque import thirds_for, triangle_for

AUSTIN = "Austin, Generate stepper-motor speed profiles in real time, 2005"
SHOWN_INTERVALS = (0, 1, 2, 3, 4, 5, 9, 19, 49, 99, 199, 499, 999, 1999)


def motion_block(model: Model, drive: Drive, distances: tuple[Quantity, ...]) -> Block:
    """Work out how a drive moves, and how it moves through each of some distances."""
    figures, motion = figures_of(drive), motion_of(drive)
    turn, rate, ramp = _steps(drive, figures), _rate(drive, figures), _ramp(drive, figures)
    results = [turn, rate, ramp, *_fineness(drive, turn), *_timer(model, rate, ramp)]
    charts: list[Chart] = []
    for distance in distances or (_usual(drive),):
        results += _moves(drive, distance, turn, rate, ramp)
        steps = steps_of(drive, distance)
        if isinstance(motion, Motion) and not isinstance(steps, Missing):
            charts.append(move_chart(drive, motion, float(steps), _words(distance)))
    results.append(stop_result(drive, rate, ramp))
    tables = () if isinstance(motion, Missing) else (_ramp_table(motion),)
    return Block(
        name=f"motion of {drive.output}",
        about="a step is one pulse to the driver",
        results=tuple(results),
        tables=tables,
        charts=tuple(charts),
        remarks=_remarks(drive),
    )


def _usual(drive: Drive) -> Quantity:
    has_stations = figures_of(drive).quantity("stations.count") is not None
    return Quantity(number=1.0, unit="station" if has_stations else "turn")


def _words(distance: Quantity) -> str:
    return f"{distance.number:g} {distance.unit}"


def _remarks(drive: Drive) -> tuple[str, ...]:
    days = {quantity.on for _, quantity in drive.figures if quantity.on}
    build = f"; its figures were found on {', '.join(sorted(days))}" if days else ""
    stalls = "the speed at which a stepper stalls belongs to a build and not to a motor"
    return (f"{stalls}: mended friction can raise it several times{build}",)


# --- Steps and speeds ---------------------------------------------------------------------------


def _steps(drive: Drive, figures: Figures) -> Result | Lacking:
    given = [
        from_file(figures, "steps", "", "n", "full steps of the motor"),
        _or_one(figures, "microsteps", "m", "microsteps"),
        _gearing(drive, figures),
    ]
    value = combined(float, steps_per_turn(drive))
    says = f"steps for one turn of {drive.output}"
    return result(says, value, "steps", "n * m * g", given, KINEMATICS)


def _or_one(figures: Figures, path: str, symbol: str, says: str) -> Given:
    found = from_file(figures, path, "", symbol, says)
    return known(found, assumed(symbol, 1.0, "", says, "1 where the file says nothing"))


def _gearing(drive: Drive, figures: Figures) -> Given:
    paths = ("gearing", "gearing.motor", f"gearing.{drive.output}")
    says = f"turns of the motor for one of {drive.output}"
    where = (
        "the file" if any(figures.quantity(path) for path in paths) else "1 where nothing is said"
    )
    return Given("g", float(gearing(drive)), "", says, where, guessed(figures, *paths))


def _rate(drive: Drive, figures: Figures) -> Result | Lacking:
    speed = _speed(drive, figures)
    turn = taken(_steps(drive, figures), "s")
    return result(
        "steps a second at speed",
        step_rate(drive),
        "steps/s",
        "v / 60 * s",
        [speed, turn],
        KINEMATICS,
    )


def _speed(drive: Drive, figures: Figures) -> Given | Missing:
    turns = combined(
        lambda rate, turn: rate / float(turn) * 60, step_rate(drive), steps_per_turn(drive)
    )
    quantity = figures.quantity("speed")
    where = "the file" if quantity is None or quantity.known is None else quantity.known
    return combined(
        lambda rpm: Given(
            "v", rpm, "rpm", f"speed of {drive.output}", where, guessed(figures, "speed")
        ),
        turns,
    )


def _ramp(drive: Drive, figures: Figures) -> Result | Lacking:
    turns = combined(
        lambda rate, turn: rate / float(turn) * 60, ramp_rate(drive), steps_per_turn(drive)
    )
    ramp = combined(
        lambda value: Given(
            "r", value, "rpm/s", "speed gained a second", "the file", guessed(figures, "ramp")
        ),
        turns,
    )
    turn = taken(_steps(drive, figures), "s")
    return result(
        "steps a second gained each second",
        ramp_rate(drive),
        "steps/s2",
        "r / 60 * s",
        [ramp, turn],
        KINEMATICS,
    )


def _fineness(drive: Drive, turn: Result | Lacking) -> list[Result | Lacking]:
    steps = taken(turn, "s")
    angle = combined(lambda given: 360 / given.value, steps)
    per_degree = combined(lambda given: given.value / 360, steps)
    return [
        result(
            f"angle of one step at {drive.output}", angle, "deg", "360 / s", [steps], KINEMATICS
        ),
        result(
            f"steps for one degree of {drive.output}",
            per_degree,
            "steps",
            "s / 360",
            [steps],
            KINEMATICS,
        ),
    ]


# --- The timer ----------------------------------------------------------------------------------


def _timer(model: Model, rate: Result | Lacking, ramp: Result | Lacking) -> list[Result | Lacking]:
    speed, gained = taken(rate, "v"), taken(ramp, "a")
    counts = assumed("f", float(COUNTS), "1/s", "counts of the timer a second", "microseconds")
    board = board_of(model.controller)
    shortest = combined(lambda given: interval_at(given.value, COUNTS), speed)
    advice, is_well = "", True
    if not isinstance(shortest, Missing):
        is_well = shortest >= board.least
        advice = (
            f"a timer must make it: the loop of {model.loop / 1000:g} ms is far too slow; "
            f"{board.says} "
            + ("can" if is_well else f"cannot: it wants {board.least:g} us at least")
        )
    gaining = combined(lambda v, a: steps_to_speed(v.value, a.value), speed, gained)
    return [
        result(
            "shortest interval between two steps",
            shortest,
            "us",
            "f / v",
            [counts, speed],
            f"{AUSTIN}, eq. 1",
            advice=advice,
            weight="plain" if is_well else "doubtful",
        ),
        result(
            "speed that whole microseconds make of it",
            combined(lambda each: speed_at(max(round(each), 1), COUNTS), shortest),
            "steps/s",
            "f / max(round(f / v), 1)",
            [counts, speed],
            f"{AUSTIN}, eq. 2",
        ),
        result(
            "first interval when it slows down from full speed",
            combined(_first_slowing, speed, gained),
            "us",
            "f / v * (1 + 2 / (4 * max(v * v / (2 * a), 1) - 3))",
            [counts, speed, gained],
            f"{AUSTIN}, eq. 13 and 17",
        ),
        result(
            "first interval from rest, exactly",
            combined(lambda given: first_interval(given.value, COUNTS), gained),
            "us",
            "f * sqrt(2 / a)",
            [counts, gained],
            f"{AUSTIN}, eq. 7",
        ),
        result(
            "steps to gain full speed",
            gaining,
            "steps",
            "v * v / (2 * a)",
            [speed, gained],
            f"{AUSTIN}, eq. 16",
        ),
    ]


def _first_slowing(v: Given, a: Given) -> float:
    place = max(steps_to_speed(v.value, a.value), 1.0) - 0.5
    return followed(interval_at(v.value, COUNTS), other_place(place, a.value, -a.value) + 1)


def _ramp_table(motion: Motion) -> Table:
    made = plan(motion.speed, motion.ramp)
    gaining = int(steps_to_speed(motion.speed, motion.ramp)) + 1
    shown = [place for place in SHOWN_INTERVALS if place < gaining] or [0]
    table = list(islice(intervals(made, 2 * (max(shown) + 1)), max(shown) + 1))
    chain = list(accumulate(range(1, max(shown) + 1), followed, initial=made.first / PART))
    rows = tuple(
        (
            str(place + 1),
            str(table[place]),
            f"{chain[place]:.1f}",
            f"{exact_interval(place, motion.ramp, COUNTS):.1f}",
            f"{ramp_between(chain[place - 1], chain[place], COUNTS):.0f}" if place else "",
        )
        for place in shown
    )
    error = 2 * LEAD * first_interval(motion.ramp, 1) * 1000
    return Table(
        title="intervals of the step generator, in us; a move that it makes is up to "
        f"{error:.3g} ms shorter than worked out, and half a microsecond a step off",
        head=("step", "interval", "not rounded", "exactly", "steps/s2 there"),
        rows=rows,
        source=f"{AUSTIN}, eq. 13 and 15",
    )


# --- Moves --------------------------------------------------------------------------------------


def _moves(
    drive: Drive,
    distance: Quantity,
    turn: Result | Lacking,
    rate: Result | Lacking,
    ramp: Result | Lacking,
) -> list[Result | Lacking]:
    words = _words(distance)
    whole = combined(float, steps_of(drive, distance))
    made = combined(move, motion_of(drive), whole)
    speed, gained = taken(rate, "v"), taken(ramp, "a")
    steps = result(
        f"steps of {words}", whole, "steps", *_counted(drive, distance, turn), KINEMATICS
    )
    d = taken(steps, "d")
    is_full = isinstance(made, Move) and made.shape is Shape.TRAPEZOID
    shape = "" if isinstance(made, Missing) else f"it {made.shape.value}"
    found = [
        steps,
        result(
            f"time of a move of {words}",
            combined(lambda each: each.time, made),
            "s",
            "d / v + v / a" if is_full else "2 * sqrt(d / a)",
            [d, speed, gained] if is_full else [d, gained],
            KINEMATICS,
            advice=shape,
        ),
        result(
            f"speed reached in {words}",
            combined(lambda each: each.peak, made),
            "steps/s",
            "min(v, sqrt(d * a))",
            [d, speed, gained],
            KINEMATICS,
        ),
    ]
    return [
        *found,
        *windows(drive, words, found[1], d, speed, gained),
        *_gentler(words, found[1], d),
    ]


def _counted(
    drive: Drive, distance: Quantity, turn: Result | Lacking
) -> tuple[str, list[Given | Missing]]:
    number = assumed("x", distance.number, distance.unit, "distance", "asked for")
    s = taken(turn, "s")
    match distance.unit:
        case "step" | "steps":
            return "x", [number]
        case "station" | "stations":
            stations = from_file(figures_of(drive), "stations.count", "", "k", "stations of a turn")
            return "x * s / k", [number, s, stations]
        case "turn" | "turns":
            return "x * s", [number, s]
        case "deg":
            return "x * s / 360", [number, s]
        case _:
            return "x * s / (2 * pi)", [number, s]


def _gentler(words: str, made: Result | Lacking, d: Given | Missing) -> list[Result | Lacking]:
    time = taken(made, "t")
    thirds = combined(lambda steps, t: thirds_for(steps.value, t.value), d, time)
    triangle = combined(lambda steps, t: triangle_for(steps.value, t.value), d, time)
    return [
        result(
            f"ramp of {words} in the same time by thirds",
            combined(lambda each: each[1], thirds),
            "steps/s2",
            "4.5 * d / (t * t)",
            [d, time],
            f"{KINEMATICS}, from memory",
            advice="a third of the time to gain speed, a third to run, a third to slow down",
        ),
        result(
            f"ramp of {words} in the same time as a triangle",
            combined(lambda each: each[1], triangle),
            "steps/s2",
            "4 * d / (t * t)",
            [d, time],
            KINEMATICS,
            advice="the gentlest ramp that is in time",
        ),
    ]
