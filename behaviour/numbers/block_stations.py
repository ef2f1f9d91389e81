"""The stations of a drive: steps between them, what is past the switch, and what a look costs."""

from behaviour.model import Drive, Input, Micros, Model, Unknown
from behaviour.numbers.figures import Figures, Missing, combined, figures_of
from behaviour.numbers.motion import (
    past_steps,
    step_rate,
    steps_per_station,
    steps_per_turn,
)
from behaviour.numbers.moved_by import inputs_moved_by
from behaviour.numbers.results import (
    COMMON,
    HEAVY,
    KINEMATICS,
    MOVED,
    STEPPED,
    Block,
    Given,
    Lacking,
    Result,
    assumed,
    from_file,
    guessed,
    result,
    worked_out,
)
from behaviour.numbers.spacing import station_error, station_time, turned
from behaviour.numbers.stopping import stop


def stations_block(model: Model, drive: Drive) -> Block:
    """Work out where a drive stops, and how surely."""
    figures, speed = figures_of(drive), _speed(drive)
    results: list[Result | Lacking] = []
    if figures.quantity("stations.count") is not None:
        results += _spaces(drive, figures, speed)
    results.append(_of_a_loop(model, drive, speed))
    for item in inputs_moved_by(model, drive.output):
        results += _seen_late(model, drive, item, speed)
    return Block(
        name=f"stations of {drive.output}",
        about="steps past a switch belong to a direction: the edge comes elsewhere each way",
        results=tuple(results),
    )


def _speed(drive: Drive) -> Given | Missing:
    return combined(
        lambda rate, turn: Given(
            "v",
            rate / float(turn) * 60,
            "rpm",
            f"speed of {drive.output}",
            "the file",
            guessed(figures_of(drive), "speed"),
        ),
        step_rate(drive),
        steps_per_turn(drive),
    )


def _spaces(drive: Drive, figures: Figures, speed: Given | Missing) -> list[Result | Lacking]:
    turn = combined(
        lambda value: worked_out("s", float(value), "steps", "steps of a turn", figures, *STEPPED),
        steps_per_turn(drive),
    )
    count = from_file(figures, "stations.count", "", "k", "stations of a turn")
    space = combined(float, steps_per_station(drive))
    error = combined(station_error, space)
    is_whole = not isinstance(error, Missing) and error == 0
    per_turn = combined(
        lambda missed, given, stations: missed * stations.value * 360 / given.value,
        error,
        turn,
        count,
    )
    found = [
        result(
            "steps from one station to the next", space, "steps", "s / k", [turn, count], KINEMATICS
        ),
        result(
            "error that builds up in a turn of moves by stations",
            per_turn,
            "deg",
            "abs(s / k - round(s / k)) * k * 360 / s",
            [turn, count],
            KINEMATICS,
            advice=""
            if is_whole
            else "the steps of a station are not whole: look for the switch once a turn",
            weight="plain" if is_whole else "doubtful",
        ),
        result(
            "time from one station to the next at full speed",
            combined(lambda k, v: station_time(k.value, v.value), count, speed),
            "s",
            "60 / (k * v)",
            [count, speed],
            COMMON,
        ),
    ]
    for path, _ in figures.given:
        if path.startswith("stations.past."):
            direction = path.rpartition(".")[2]
            past = from_file(figures, path, "steps", "p", f"steps past the edge, {direction}")
            angle = combined(
                lambda steps, given: float(steps) * 360 / given.value,
                past_steps(drive, direction),
                turn,
            )
            says = f"from the switch's edge to the station, {direction}"
            found.append(result(says, angle, "deg", "p * 360 / s", [past, turn], KINEMATICS))
    return found


# --- What a look costs --------------------------------------------------------------------------


def _of_a_loop(model: Model, drive: Drive, speed: Given | Missing) -> Result | Lacking:
    loop = assumed("T", model.loop / 1000, "ms", "a loop", "the file")
    return result(
        f"what {drive.output} turns in one loop at speed",
        combined(lambda given: turned(given.value, model.loop / 1e6), speed),
        "deg",
        "6 * v * T / 1000",
        [speed, loop],
        KINEMATICS,
    )


def _seen_late(
    model: Model, drive: Drive, item: Input, speed: Given | Missing
) -> list[Result | Lacking]:
    """Give how far it turns until a change of an input counts, and until it stands."""
    found: list[Result | Lacking] = []
    loop = model.loop / 1e6
    for value, steady in zip(item.values, item.steady, strict=True):
        if isinstance(steady, Unknown):
            continue
        late = (_loops(model, steady) + 1) * loop
        filtered = assumed(
            "n", float(_loops(model, steady)), "", f"loops that {item.name} is filtered", "the file"
        )
        each = assumed("T", loop * 1000, "ms", "a loop", "the file")
        says = f"turned at speed until `{item.name} is {value}` counts, at most"
        seen = combined(lambda given, late=late: turned(given.value, late), speed)
        formula = "6 * v * (n + 1) * T / 1000"
        found.append(result(says, seen, "deg", formula, [speed, filtered, each], KINEMATICS))
    slowest = [_loops(model, steady) for steady in item.steady if not isinstance(steady, Unknown)]
    if slowest:
        found.append(_until_it_stands(drive, item, (max(slowest) + 1) * loop, speed))
    return found


def _until_it_stands(
    drive: Drive, item: Input, late: float, speed: Given | Missing
) -> Result | Lacking:
    stopped = stop(drive)
    on = combined(
        lambda each, turn: worked_out(
            "o",
            each.steps / float(turn) * 360,
            "deg",
            "going on once set to rest",
            figures_of(drive),
            *MOVED,
            *HEAVY,
        ),
        stopped,
        steps_per_turn(drive),
    )
    seen = assumed("t", late, "s", f"filter of {item.name} and a loop", "the file")
    return result(
        f"turned from a change of `{item.name}` until {drive.output} stands, at most",
        combined(lambda given, more: turned(given.value, late) + more.value, speed, on),
        "deg",
        "6 * v * t + o",
        [speed, seen, on],
        "kinematics and energy balance",
    )


def _loops(model: Model, steady: Micros) -> int:
    return model.loops_up(steady)
