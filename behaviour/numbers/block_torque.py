"""The torque of a drive: what a move needs, what the motor has left, what the supply allows."""

from math import tau

from behaviour.model import Drive, Model
from behaviour.numbers.block_limits import stall_limit, supply_limits
from behaviour.numbers.figures import Missing, combined, figures_of
from behaviour.numbers.loads import (
    curve_of,
    efficiency,
    inertia_at_output,
    load_inertia,
    rotor_inertia,
    weight_torque,
)
from behaviour.numbers.motion import gearing, motion_of, move, ramp_rate, step_rate, steps_per_turn
from behaviour.numbers.results import (
    COMMON,
    HEAVY,
    MOVED,
    Block,
    Chart,
    Curve,
    Given,
    Lacking,
    Result,
    assumed,
    from_file,
    guessed,
    result,
    taken,
    worked_out,
)
from behaviour.numbers.stopping import turning_energy
from behaviour.numbers.supply import GIVEN_BACK
from behaviour.numbers.torque import (
    accelerating_torque,
    effective_torque,
    left_on,
    reflected,
    stopping_energy,
    torque_at_motor,
    torque_at_output,
)

MARGIN = 2.0

NEWTON = "Newton: torque = inertia x angular acceleration"


def torque_block(model: Model, drive: Drive) -> Block:
    """Work out whether the motor can do what its file asks."""
    figures = figures_of(drive)
    rpm, needed = _motor_speed(drive), _needed(drive)
    results = [*_inertias(drive), rpm, *needed, *_margin(drive, rpm, needed[-1])]
    results += [*supply_limits(model, figures, rpm), *stall_limit(drive, figures), *_energy(drive)]
    return Block(
        name=f"torque of {drive.output}",
        about="at the motor's shaft, unless it says otherwise",
        results=tuple(results),
        charts=_chart(drive, rpm, needed[-1]),
    )


# --- What is needed -----------------------------------------------------------------------------


def _inertias(drive: Drive) -> list[Result | Lacking]:
    load, ratio = _load(drive), _ratio(drive)
    rotor = assumed("Jr", rotor_inertia(drive), "kg m2", "the rotor's own", "0 if not given")
    return [
        result(
            f"inertia at {drive.output}",
            inertia_at_output(drive),
            "kg m2",
            "J + Jr * g * g",
            [load, rotor, ratio],
            "energy balance",
        ),
        result(
            "inertia of the load as the motor feels it",
            combined(lambda each: reflected(each, float(gearing(drive))), load_inertia(drive)),
            "kg m2",
            "J / (g * g)",
            [load, ratio],
            "energy balance",
        ),
    ]


def _load(drive: Drive) -> Given | Missing:
    figures = figures_of(drive)
    given = figures.quantity("load.inertia") is not None
    paths = [path for path, _ in figures.given if path.startswith("load.")]
    where = "the file" if given else "worked out from its parts"
    return combined(
        lambda inertia: Given(
            "J", inertia, "kg m2", "inertia of the load", where, guessed(figures, *paths)
        ),
        load_inertia(drive),
    )


def _ratio(drive: Drive) -> Given:
    guesses = guessed(figures_of(drive), "gearing", "gearing.motor", f"gearing.{drive.output}")
    return Given("g", float(gearing(drive)), "", "gearing", "the file", guesses)


def _motor_speed(drive: Drive) -> Result | Lacking:
    figures = figures_of(drive)
    rpm = combined(
        lambda rate, turn: rate / float(turn) * 60, step_rate(drive), steps_per_turn(drive)
    )
    speed = combined(
        lambda value: Given(
            "v", value, "rpm", f"speed of {drive.output}", "the file", guessed(figures, "speed")
        ),
        rpm,
    )
    value = combined(lambda given: given * float(gearing(drive)), rpm)
    return result("speed of the motor", value, "rpm", "v * g", [speed, _ratio(drive)], "gearing")


def _needed(drive: Drive) -> list[Result | Lacking]:
    figures, ratio = figures_of(drive), _ratio(drive)
    angular = combined(
        lambda ramp, turn: ramp / float(turn) * tau, ramp_rate(drive), steps_per_turn(drive)
    )
    ramp = combined(
        lambda value: Given(
            "b", value, "rad/s2", "ramp of the output", "the file", guessed(figures, "ramp")
        ),
        angular,
    )
    inertia = taken(_inertias(drive)[0], "J")
    gaining = result(
        f"torque at {drive.output} to gain speed",
        combined(accelerating_torque, inertia_at_output(drive), angular),
        "N m",
        "J * b",
        [inertia, ramp],
        NEWTON,
    )
    friction = from_file(figures, "load.friction", "N m", "F", "friction at the output")
    weight = assumed("W", weight_torque(drive), "N m", "pull of a weight", "0 if nothing hangs")
    share = assumed("e", efficiency(drive), "", "what the gearing leaves", "all if not given")
    torque, factor = taken(gaining, "Ta"), float(gearing(drive))
    needed = combined(
        lambda each, resists: torque_at_motor(
            each.value + resists.value + weight_torque(drive), factor, efficiency(drive)
        ),
        torque,
        friction,
    )
    given = [torque, friction, weight, ratio, share]
    says = "torque needed to gain speed"
    return [gaining, result(says, needed, "N m", "(Ta + F + W) / (g * e)", given, NEWTON)]


# --- What is there ------------------------------------------------------------------------------


def _margin(
    drive: Drive, rpm: Result | Lacking, needed: Result | Lacking
) -> list[Result | Lacking]:
    curve, speed = curve_of(drive), taken(rpm, "w")
    there = combined(lambda points, given: left_on(points, given.value), curve, speed)
    if there is None and not isinstance(curve, Missing):
        there = 0.0
    guesses = tuple(
        f"{drive.output}.torque"
        for pair in drive.torque
        if any(each.known == "guess" for each in pair)
    )[:1]
    left = combined(
        lambda value: Given("M", value or 0.0, "N m", "left on the curve", "the file", guesses),
        there,
    )
    available = result(
        "torque that the motor has at that speed",
        combined(lambda given: given.value, left),
        "N m",
        "M",
        [left, speed],
        "the motor's curve, straight between its points",
        advice="the curve ends before that speed" if there == 0.0 else "",
        weight="doubtful" if there == 0.0 else "plain",
    )
    has, needs = taken(available, "M"), taken(needed, "T")
    ratio = combined(lambda m, t: m.value / t.value if t.value else float("inf"), has, needs)
    thin = not isinstance(ratio, Missing) and ratio < MARGIN
    at_output = combined(
        lambda m: torque_at_output(m.value, float(gearing(drive)), efficiency(drive)), has
    )
    share = assumed("e", efficiency(drive), "", "what the gearing leaves", "all if not given")
    return [
        available,
        result(
            f"that torque at {drive.output}",
            at_output,
            "N m",
            "M * g * e",
            [has, _ratio(drive), share],
            "gearing",
        ),
        result(
            "margin: torque there over torque needed",
            ratio,
            "times",
            "M / T",
            [has, needs],
            COMMON,
            advice=f"less than {MARGIN:g}: go slower, gain speed more slowly, or gear down"
            if thin
            else "",
            weight="doubtful" if thin else "plain",
        ),
        _effective(drive, needed),
    ]


def _effective(drive: Drive, needed: Result | Lacking) -> Result | Lacking:
    """Give the torque that would heat the motor as much, over one turn from rest to rest."""
    motion, figures = motion_of(drive), figures_of(drive)
    made = combined(lambda each: move(each, float(each.steps_per_turn)), motion)
    resists = combined(
        lambda friction: torque_at_motor(
            friction + weight_torque(drive), float(gearing(drive)), efficiency(drive)
        ),
        figures.measured("load.friction", "N m"),
    )
    time = combined(
        lambda each: worked_out("t1", each.ramp_time, "s", "time of a ramp", figures, *MOVED), made
    )
    run = combined(
        lambda each: worked_out("t2", each.run_time, "s", "time at speed", figures, *MOVED), made
    )
    rubbing = combined(
        lambda each: worked_out("Tf", each, "N m", "friction", figures, *HEAVY), resists
    )
    top = taken(needed, "T")
    value = combined(
        lambda up, rub, each: effective_torque(
            (
                (up.value, each.ramp_time),
                (rub, each.run_time),
                (2 * rub - up.value, each.ramp_time),
            )
        ),
        top,
        resists,
        made,
    )
    formula = "sqrt((T**2 * t1 + Tf**2 * t2 + (2 * Tf - T)**2 * t1) / (2 * t1 + t2))"
    given = [top, rubbing, time, run]
    return result(
        "effective torque of one turn from rest to rest",
        value,
        "N m",
        formula,
        given,
        "root mean square over the move",
    )


# --- Energy --------------------------------------------------------------------------------------


def _energy(drive: Drive) -> list[Result | Lacking]:
    inertia = taken(_inertias(drive)[0], "J")
    angular = combined(
        lambda rate, turn: worked_out(
            "w", rate / float(turn) * tau, "rad/s", "speed of the output", figures_of(drive), *MOVED
        ),
        step_rate(drive),
        steps_per_turn(drive),
    )
    stored = result(
        "energy of what turns at full speed",
        turning_energy(drive),
        "J",
        "J * w * w / 2",
        [inertia, angular],
        "energy balance",
    )
    energy = taken(stored, "E")
    share = assumed("q", GIVEN_BACK, "", "share that comes back", "a driver maker's manual")
    gaining = taken(_needed(drive)[0], "T")
    rpm = combined(lambda given: given.value / tau * 60, angular)
    taken_up = combined(
        lambda torque, speed, each: stopping_energy(torque.value, speed, each.speed / each.ramp),
        gaining,
        rpm,
        motion_of(drive),
    )
    time = combined(
        lambda each: worked_out(
            "t", each.speed / each.ramp, "s", "time of a ramp", figures_of(drive), *MOVED
        ),
        motion_of(drive),
    )
    return [
        stored,
        result(
            "energy that the motor takes up on one ramp down",
            taken_up,
            "J",
            "T * w * t / 2",
            [gaining, angular, time],
            "energy balance",
        ),
        result(
            "of it to the supply when it is braked",
            combined(lambda given: given.value * GIVEN_BACK, energy),
            "J",
            "E * q",
            [energy, share],
            "a driver maker's manual: nine tenths of the energy",
            advice="a battery takes that; a bench supply or an opened fuse does not",
        ),
    ]


def _chart(drive: Drive, rpm: Result | Lacking, needed: Result | Lacking) -> tuple[Chart, ...]:
    curve = curve_of(drive)
    if isinstance(curve, Missing) or isinstance(rpm, Lacking) or isinstance(needed, Lacking):
        return ()
    most = max(curve[-1][0], rpm.value)
    return (
        Chart(
            name=f"{drive.output}-torque",
            title=f"{drive.output}: torque needed against torque there",
            across="motor speed in rpm",
            up="N m",
            curves=(
                Curve("there", tuple(curve)),
                Curve("half of it", tuple((speed, left / MARGIN) for speed, left in curve)),
                Curve("needed", ((0.0, needed.value), (most, needed.value))),
            ),
            marks=((rpm.value, "as the file has it"),),
        ),
    )
