"""What the emitted board files do at the pins of a simulated Uno: rest, steps, fades, pulses."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from itertools import groupby, pairwise
from pathlib import Path

import pytest

from behaviour.model import Model
from codegen.conform.arduino import addresses, build_for_uno
from codegen.conform.simulator import HERTZ, Chip, powered
from codegen.conform.terminals import terminal
from codegen.emit import emit
from codegen.keep import write_files
from tests.firmware.board_props import MOVING, SHINING, read
from tests.firmware.props import spec

MS = HERTZ // 1000
US = HERTZ // 1_000_000
RESULT = 22
"""The register in which a call gives the lowest byte of its result (avr-gcc)."""
TIMERS = {"5": (0x44, 0x48), "10": (0x80, 0x8A)}
"""Where the timer of a pin says in bit 5 whether it drives it, and how much of 255 it is on
(ATmega328P data sheet 8271H: TCCR0A and OCR0B, TCCR1A and OCR1B)."""


def folder_of(model: Model, directory: Path) -> Path:
    write_files(directory, emit(replace(model, firmware_name="props"), "props.yaml", "uno"))
    return directory / "props"


@pytest.fixture(scope="module")
def programs(tmp_path_factory) -> dict[str, Path]:
    """Build each prop once, call by call."""
    models = {
        "moving": read(MOVING),
        "shining": read(SHINING),
        "carousel": spec("confetti-carousel"),
    }
    built = {}
    for name, model in models.items():
        directory = tmp_path_factory.mktemp(name)
        folder = folder_of(model, directory)
        built[name] = build_for_uno(folder, directory / "built", whole=False)
    return built


@contextmanager
def switched_on(program: Path, **levels: bool) -> Iterator[Chip]:
    """Give a chip on which the pins named, such as `A3` or `_2`, are led so."""
    with powered(program) as chip:
        for pin, high in levels.items():
            lead(chip, pin.removeprefix("_"), high=high)
        yield chip


def lead(chip: Chip, pin: str, *, high: bool) -> None:
    at = terminal(pin)
    chip.lead(at.port, at.bit, high=high)


def level(chip: Chip, pin: str) -> bool | None:
    at = terminal(pin)
    return chip.driven(at.port, at.bit)


Levels = tuple[bool | None, ...]


def seen(chip: Chip, pins: tuple[str, ...], ms: int, every_us: int) -> list[Levels]:
    """Look at pins again and again for a while."""
    found = []
    for _ in range(ms * 1000 // every_us):
        chip.run(every_us * US)
        found.append(tuple(level(chip, pin) for pin in pins))
    return found


def duty(chip: Chip, pin: str) -> int:
    """Give how much of the time a dimmed pin is on: by its timer, or it is all or nothing."""
    control, compare = TIMERS[pin]
    if chip.number(control) & 1 << 5:
        return chip.number(compare) & 0xFF
    return 255 if level(chip, pin) else 0


# --- Rest ---------------------------------------------------------------------------------------


def test_no_output_ever_has_another_level_than_that_of_its_rest_while_the_uno_starts(programs):
    rests = {"A1": True, "A2": False, "12": False, "13": False, "5": False, "10": False}

    with powered(programs["shining"]) as chip:
        looks = seen(chip, tuple(rests), 6, 1)

    assert looks[0] == (None,) * len(rests)
    assert looks[-1] == tuple(rests.values())
    for levels, rest in zip(zip(*looks, strict=True), rests.values(), strict=True):
        assert set(levels) == {None, rest}


def test_every_output_rests_before_the_first_input_is_read(programs):
    reads = addresses(programs["carousel"])["digitalRead"]
    with powered(programs["carousel"]) as chip:
        chip.hook(reads)

        assert chip.run(HERTZ) == reads

        assert [level(chip, str(pin)) for pin in range(5, 13)] == [False] * 8


# --- Steps --------------------------------------------------------------------------------------


def steps_until(chip: Chip, step: int, is_over: Callable[[], bool]) -> list[tuple[int, int]]:
    """List when the generator gave a step, in microseconds, and the interval that it gave."""
    found = []
    while not is_over():
        if chip.run(MS) != step:
            continue
        end = chip.comes_back_to()
        chip.hook(end)
        while chip.run(MS) != end:
            pass
        if interval := chip.number(RESULT):
            found.append((chip.cycle // US, interval))
    return found


def at(chip: Chip, ms: int) -> Callable[[], bool]:
    """Tell when so many milliseconds have gone by since power-up."""
    return lambda: chip.cycle >= ms * MS


def test_steps_come_when_the_generator_says_and_none_once_the_drum_is_stopped(programs):
    step = addresses(programs["carousel"])["props_drum_steps_next"]
    with switched_on(programs["carousel"], _2=False, _3=True, _4=True) as chip:
        chip.run(900 * MS)
        assert level(chip, "7") is False
        lead(chip, "3", high=False)
        chip.hook(step)
        turning = steps_until(chip, step, at(chip, 1800))
        assert (level(chip, "6"), level(chip, "7")) == (True, True)
        lead(chip, "4", high=False)
        stopping = steps_until(chip, step, at(chip, 1830))
        after = steps_until(chip, step, at(chip, 2000))

    asked = [interval for _, interval in turning]
    came = [later - earlier for (earlier, _), (later, _) in pairwise(turning)]
    assert len(turning) > 1000
    assert asked[0] > 5 * asked[-1]  # it has gained speed
    assert sum(came) == pytest.approx(sum(asked[:-1]), rel=0.005)
    assert all(then >= due / 2 - 30 for then, due in zip(came, asked[:-1], strict=True))
    assert stopping
    assert after == []


def test_the_driver_holds_the_drum_for_half_a_second_after_its_last_step(programs):
    with switched_on(programs["carousel"], _2=False, _3=True, _4=True) as chip:
        chip.run(900 * MS)
        lead(chip, "3", high=False)
        chip.run(300 * MS)
        assert level(chip, "7") is True
        lead(chip, "2", high=True)  # the lid is opened
        chip.run(30 * MS)

        looks = seen(chip, ("7",), 600, 1000)

    held = next(number for number, (enable,) in enumerate(looks) if not enable)
    assert 460 <= held <= 510
    assert not any(enable for (enable,) in looks[held:])


def test_a_move_by_distance_makes_its_steps_and_ends(programs):
    step = addresses(programs["moving"])["props_wheel_steps_next"]
    with switched_on(programs["moving"], _2=True) as chip:
        chip.run(100 * MS)
        lead(chip, "2", high=False)
        chip.hook(step)

        made = steps_until(chip, step, at(chip, 2700))
        told = chip.said()

    pauses = [
        number
        for number, (one, next_) in enumerate(pairwise(made), 1)
        if next_[0] - one[0] > 150_000
    ]
    assert pauses == [800]  # one turn of 200 steps in quarters
    assert "show pause\n" in told
    assert made[800][1] == made[0][1]  # it gains speed anew
    assert made[-1][1] == made[799][1]  # and slows down, for `ramp_down: yes`


def test_two_ways_of_a_motor_are_never_on_together_and_a_setting_exchanges_them(programs):
    with switched_on(programs["moving"], _2=True) as chip:
        chip.run(100 * MS)
        lead(chip, "2", high=False)
        looks = seen(chip, ("8", "12", "A0", "A1"), 2600, 500)

    ways = [key for key, _ in groupby(looks)]
    up, down = (False, True, True, True), (True, False, False, True)
    assert up in ways  # `turns: other way`: `up` is on at the pin of `down`
    assert down in ways
    assert not [each for each in ways if each[0] and each[1]]


# --- Servos -------------------------------------------------------------------------------------


def pulses(chip: Chip, pin: str, ms: int) -> list[tuple[float, float]]:
    """List the pulses at a pin: when each began, and how long it was, in microseconds."""
    looks, end = [], chip.cycle + ms * MS
    while chip.cycle < end:
        chip.run(US)
        looks.append((chip.cycle / US, level(chip, pin)))
    changes = [(when, high) for (_, before), (when, high) in pairwise(looks) if high != before]
    return [(up, down - up) for (up, high), (down, _) in pairwise(changes) if high]


def test_a_servo_gets_its_pulse_every_20_ms_and_as_long_as_the_angle_asks(programs):
    with switched_on(programs["moving"], _2=True) as chip:
        chip.run(100 * MS)
        shut = pulses(chip, "11", 90)
        lead(chip, "2", high=False)
        chip.run(60 * MS)
        opened = pulses(chip, "11", 90)

    assert len(shut) >= 2
    assert all(abs(length - 544) <= 10 for _, length in shut)
    assert all(abs(length - 1472) <= 10 for _, length in opened)
    for (first, _), (second, _) in (*pairwise(shut), *pairwise(opened)):
        assert second - first == pytest.approx(20_000, abs=20)


# --- Lights and sounds --------------------------------------------------------------------------


SHOWN = {"_2": True, "A3": True, "_4": False, "_7": True, "_8": True}
"""All contacts open, and the dial at `low`."""


def test_a_light_fades_and_a_hazard_rests_at_once(programs):
    with switched_on(programs["shining"], **SHOWN) as chip:
        chip.run(100 * MS)
        assert (duty(chip, "5"), duty(chip, "10")) == (0, 0)
        lead(chip, "2", high=False)
        chip.run(60 * MS)
        half = duty(chip, "5")
        chip.run(100 * MS)
        whole, warming = duty(chip, "5"), duty(chip, "10")
        lead(chip, "2", high=True)
        chip.run(30 * MS)
        fading, cold = duty(chip, "5"), duty(chip, "10")
        chip.run(100 * MS)

        assert 60 < half < 200
        assert whole == 255
        assert 5 < warming < 40  # of 128, which takes a second
        assert cold == 0
        assert 150 < fading < 255
        assert duty(chip, "5") == 0


def test_a_sound_is_started_by_one_pulse_and_the_next_keeps_its_gap(programs):
    with switched_on(programs["shining"], **SHOWN) as chip:
        chip.volts(0, 4000)
        chip.run(100 * MS)
        lead(chip, "2", high=False)
        chip.run(40 * MS)
        lead(chip, "7", high=False)
        lead(chip, "4", high=True)
        lead(chip, "8", high=False)

        looks = seen(chip, ("12", "13"), 400, 1000)

    runs = [(key, len(list(each))) for key, each in groupby(looks)]
    assert [key for key, _ in runs] == [
        (True, False),
        (False, False),
        (False, True),
        (False, False),
    ]
    assert 95 <= runs[1][1] <= 115
    assert 45 <= runs[2][1] <= 65


def test_a_pulse_that_is_a_hazard_ends_where_it_rests(tmp_path):
    told = "  horn:\n    {kind: sound"
    assert told in SHINING
    folder = folder_of(read(SHINING.replace(told, told + ", hazard: yes")), tmp_path)
    with switched_on(build_for_uno(folder, tmp_path / "built"), **SHOWN) as chip:
        chip.run(100 * MS)
        lead(chip, "2", high=False)
        chip.run(25 * MS)
        assert level(chip, "12") is True
        lead(chip, "2", high=True)
        chip.run(12 * MS)
        assert level(chip, "12") is False


def test_a_brake_is_on_while_it_does_not_rest(programs):
    with switched_on(programs["shining"], **SHOWN) as chip:
        chip.run(50 * MS)
        assert level(chip, "A1") is True  # `on_when: low`
        lead(chip, "2", high=False)
        chip.run(30 * MS)
        assert level(chip, "A1") is False


# --- Inputs -------------------------------------------------------------------------------------


def test_between_two_levels_and_between_two_positions_the_last_value_counts_on(programs):
    with switched_on(programs["shining"], **SHOWN) as chip:
        chip.volts(0, 1000)
        chip.run(100 * MS)
        assert "sky dim\n" in chip.said()
        chip.volts(0, 1560)  # 320 of 1023, between 300 and 340
        lead(chip, "4", high=True)  # the dial is turned, and has left `low`
        chip.run(50 * MS)
        assert chip.said() == ""
        chip.volts(0, 1700)
        lead(chip, "7", high=False)
        chip.run(50 * MS)
        told = chip.said()
        assert "sky bright\n" in told
        assert "dial high\n" in told
        chip.volts(0, 1560)
        lead(chip, "A3", high=False)
        chip.run(50 * MS)
        assert [line.split(" ", 1)[1] for line in chip.said().splitlines()] == ["mode test"]


# --- The watchdog -------------------------------------------------------------------------------


def test_a_program_that_hangs_is_started_again_by_its_watchdog(tmp_path):
    folder = folder_of(read(MOVING), tmp_path)
    sketch = folder / "props.ino"
    text = sketch.read_text()
    healthy = build_for_uno(folder, tmp_path / "healthy")
    assert "    props_board_feed_watchdog();\n" in text
    hangs = "if (millis() > 600) { while (true) { } }\n    props_board_feed_watchdog();\n"
    sketch.write_text(text.replace("    props_board_feed_watchdog();\n", hangs))
    hanging = build_for_uno(folder, tmp_path / "hanging")

    said = {}
    for program in (healthy, hanging):
        with switched_on(program, _2=True) as chip:
            chip.run(1500 * MS)
            said[program] = chip.said().count("bytes")

    assert said == {healthy: 1, hanging: 2}
