"""The module for a Raspberry Pi at gpiozero's mock pins: power-up, the end, and what pins do."""

import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from gpiozero import Device
from gpiozero.pins.mock import MockFactory, MockPWMPin
from transitions import MachineError

from behaviour.controllers import controller
from behaviour.model import Model
from behaviour.numbers.ramp import StepPlan, intervals
from codegen.conform.match import match_on_pi
from codegen.conform.runs import Effort, Runs, runs_of
from codegen.emit import emit
from codegen.keep import Done, write_files
from codegen.python.source import open_settings, python_module
from codegen.refusals import CannotEmitError
from tests.firmware.props import demo_names, models, spec

CHEST = spec("treasure-chest")
CAROUSEL = spec("confetti-carousel")


@pytest.fixture(autouse=True)
def pins() -> Iterator[MockFactory]:
    """Let every pin be a mock one, new for each test."""
    factory = MockFactory(pin_class=MockPWMPin)
    before, Device.pin_factory = Device.pin_factory, factory
    yield factory
    factory.close()
    Device.pin_factory = before


def text_of(model: Model, name: str = "any") -> str:
    return python_module(replace(model, firmware_name=name), "any.yaml", name)


def loaded(model: Model, **settings: object) -> Any:
    """Give the module with every open setting set: pins that are free, from the highest down."""
    module = ModuleType("any")
    exec(compile(text_of(model), "any.py", "exec"), module.__dict__)
    used = {value for name, value in vars(module).items() if "PIN" in name}
    free = (pin for pin in range(27, 1, -1) if pin not in used)
    for name in module.OPEN:
        setattr(module, name, next(free))
    for name, value in settings.items():
        assert hasattr(module, name)
        setattr(module, name, value)
    module.OPEN.clear()
    return module


class Playing:
    """A prop at its pins, loop by loop."""

    def __init__(self, module: Any, **inputs: bool) -> None:
        self.module, self.now_ms = module, 0
        self.board, self.prop = module.Board(), module.Prop()
        self.read(**inputs)
        module.power_up(self.prop, self.board, self.now_ms)

    def read(self, **inputs: bool) -> None:
        """Let inputs read high or low."""
        for name, is_high in inputs.items():
            pin = pin_of(self.module, name)
            (pin.drive_high if is_high else pin.drive_low)()

    def loops(self, count: int, **inputs: bool) -> None:
        self.read(**inputs)
        for _ in range(count):
            self.now_ms += self.module.LOOP_MS
            self.module.step(self.prop, self.board, self.now_ms)


def pin_of(module: Any, name: str) -> Any:
    return Device.pin_factory.pin(getattr(module, f"{name.upper()}_PIN"))


SHUT = {"front_lid": False, "back_lid": False}
"""Both lids of the chest, as they read closed."""


# --- What is emitted ----------------------------------------------------------------------------


def test_the_folder_has_the_module_and_its_sheet() -> None:
    files = emit(CAROUSEL, "some/confetti-carousel.yaml", "pi")
    assert [file.path for file in files] == [
        "confetti_carousel/confetti_carousel.py",
        "confetti_carousel/confetti_carousel.md",
    ]


@pytest.mark.parametrize("name", demo_names())
def test_every_transition_is_found_again_by_its_line_and_words(name: str) -> None:
    model = spec(name)
    source = text_of(model)
    words = " ".join(source.replace("\n", " ").replace("# ", "").split())
    for region in model.regions:
        for way in region.transitions():
            assert f"{way.span.line}: " in words
    assert "go idle" in words or name != "confetti-carousel"


def test_a_state_of_the_carousel_reads_as_the_file_does() -> None:
    line = next(
        number
        for number, text in enumerate(
            Path("specs/confetti-carousel.yaml").read_text().splitlines(), 1
        )
        if "trigger becomes pressed and loaded > 0" in text
    )
    assert f"""\
        case "idle":
            if prop.trigger.became and prop.trigger.now == "pressed" and prop.loaded > 0:
                # {line}: when trigger becomes pressed and loaded > 0, go turn
                enter_carousel(prop, "turn")
""" in text_of(CAROUSEL)


def test_settings_come_before_all_code_and_stand_nowhere_else() -> None:
    source = text_of(CAROUSEL)
    head, rest = source.split("\nclass ", 1)
    for setting in (
        "LOOP_MS = 10",
        "LID_PIN = 2",
        'LID_PULL = "up"',
        'LID_LOW = "closed"',
        "VALVE_PIN = 8",
        'VALVE_ON_WHEN = "high"',
        "CAROUSEL_EMPTY_AFTER_MS = 2000",
    ):
        assert f"\n{setting}  # " in head
        assert f"{setting.split(' = ')[0]} = " not in rest


def test_a_late_edit_is_noticed_and_kept(tmp_path: Path) -> None:
    files = emit(CAROUSEL, "confetti-carousel.yaml", "pi")
    write_files(tmp_path, files)
    module = tmp_path / files[0].path
    module.write_text(module.read_text().replace("LID_PIN = 2", "LID_PIN = 17"))
    report = write_files(tmp_path, files)
    assert [kept.done for kept in report.files] == [Done.EDITED, Done.UNCHANGED]
    assert "LID_PIN = 17" in module.read_text()


def test_all_modules_are_clean_python(tmp_path: Path) -> None:
    for name, model in models().items():
        (tmp_path / f"{name}.py").write_text(text_of(model))
    ruff = Path(sys.executable).with_name("ruff")
    rules = ["--isolated", "--select", "E,F,W,B,PLE", "--line-length", "100", str(tmp_path)]
    done = subprocess.run([ruff, "check", *rules], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout


def test_what_a_raspberry_pi_does_not_have_is_left_open_and_named() -> None:
    found = open_settings(CHEST, "treasure-chest.yaml", "treasure_chest")
    assert found == tuple(
        f"LAMP_{colour}_PIN" for colour in ("GREEN", "RED", "WHITE", "BLUE", "AMBER")
    )
    assert "LAMP_GREEN_PIN = None  # 42: lamp, green: 30 in the file, which a Raspberry Pi" in (
        text_of(CHEST)
    )
    assert open_settings(CAROUSEL, "confetti-carousel.yaml", "confetti_carousel") == ()


def test_a_move_that_nothing_counts_is_refused() -> None:
    model = spec("lantern-wheel")
    bare = tuple(
        replace(each, wiring=replace(each.wiring, pins=(), pin="5")) for each in model.outputs
    )
    with pytest.raises(CannotEmitError, match="is moved by distance and has no pin `step`"):
        text_of(replace(model, outputs=bare))


def test_the_controller_says_what_its_pins_are() -> None:
    pi = controller("pi")
    assert pi.pin("GPIO17") is pi.pin("17") is pi.pin("BCM17")
    assert not pi.pin("3").pull_down
    assert "add-on boards" in pi.pin("0").taken
    assert not any(pin.analogue for pin in pi.pins)


def test_the_machine_has_the_ways_of_the_file_and_refuses_every_other() -> None:
    module = loaded(CAROUSEL)
    region = module.Prop().carousel
    assert [way for way in module.CAROUSEL_WAYS if way[0].startswith("shot")] == [
        ("shot", "shot@100ms"),
        ("shot@100ms", "shot@250ms"),
        ("shot@250ms", "idle"),
    ]
    with pytest.raises(MachineError, match="from state"):
        region.go("jammed")
    assert region.state == "idle"
    entered = []
    region.machine.get_state("turn").add_callback("enter", lambda: entered.append(region.state))
    region.go("turn")
    region.go("jammed")
    region.go("lid_open")
    assert entered == ["turn"]
    assert region.state == "lid_open"


# --- Power-up and the end -----------------------------------------------------------------------


def test_every_output_is_at_rest_from_the_moment_that_its_pin_drives(pins: MockFactory) -> None:
    module = loaded(CHEST)
    board = module.Board()
    high = {"MOAN_CREAK_PIN", "MOAN_LAUGH_PIN"}  # on when low
    for name, number in vars(module).items():
        if name.endswith("_PIN") and name.split("_")[0] in ("ARM", "PUFF", "MOAN", "LAMP"):
            pin = pins.pin(number)
            assert pin.function == "output"
            assert pin.state == (name in high), name
    board.close()


def test_outputs_are_made_before_any_input(monkeypatch: pytest.MonkeyPatch) -> None:
    module, made = loaded(CHEST), []
    for name in ("wired_outputs", "wired_inputs"):
        monkeypatch.setattr(module, name, lambda each=name: made.append(each) or {})
    module.Board()
    assert made == ["wired_outputs", "wired_inputs"]


def test_an_exception_puts_everything_to_rest(monkeypatch: pytest.MonkeyPatch) -> None:
    module, seen = loaded(CHEST), []

    def fails(_prop: Any, board: Any, now_ms: int) -> None:
        board.outputs["arm"].drive("rising", now_ms)
        board.outputs["puff"].drive("open", now_ms)
        seen.append((pin_of(module, "arm_rising").state, pin_of(module, "puff").state))
        raise RuntimeError("a fault")

    def closes(_board: Any) -> None:
        seen.append((pin_of(module, "arm_rising").state, pin_of(module, "puff").state))

    monkeypatch.setattr(module, "step", fails)
    monkeypatch.setattr(module.Board, "close", closes)
    monkeypatch.setattr(signal, "signal", lambda *_: None)
    with pytest.raises(RuntimeError, match="a fault"):
        module.main()
    assert seen == [(True, True), (False, False)]


def test_one_output_that_fails_keeps_no_other_from_its_rest() -> None:
    playing = Playing(loaded(CHEST))
    outputs = playing.board.outputs
    outputs["lamp"].drive("green", 0)

    def fails() -> None:
        raise OSError("no such pin")

    outputs["arm"].rest = fails
    with pytest.raises(OSError, match="no such pin"):
        playing.board.rest()
    assert not pin_of(playing.module, "lamp_green").state


def program(tmp_path: Path, model: Model, more: str, **settings: object) -> subprocess.Popen[str]:
    """Run the module as a program at mock pins; `more` is done before its `main`."""
    made = loaded(model, **settings)
    pins_set = {name: value for name, value in vars(made).items() if name.isupper()}
    plain = {n: v for n, v in pins_set.items() if isinstance(v, int | str) and n != "FINGERPRINT"}
    (tmp_path / "any.py").write_text(text_of(model))
    (tmp_path / "go.py").write_text(
        "import sys\nimport any as prop\nfrom gpiozero import Device\n"
        "from gpiozero.pins.mock import MockFactory, MockPWMPin\n"
        "Device.pin_factory = MockFactory(pin_class=MockPWMPin)\n"
        f"prop.__dict__.update({plain!r})\nprop.OPEN.clear()\n{more}\nsys.exit(prop.main())\n"
    )
    return subprocess.Popen(
        [sys.executable, "go.py"],
        cwd=tmp_path,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def test_it_runs_until_it_is_told_to_stop_and_tells_each_change(tmp_path: Path) -> None:
    going = program(tmp_path, CHEST, "")
    assert going.stdout is not None
    lines = [going.stdout.readline().split() for _ in range(14)]
    going.send_signal(signal.SIGTERM)
    _, complaints = going.communicate(timeout=20)
    assert (going.returncode, complaints) == (0, "")
    assert lines[0][1:2] == ["any"]
    told = {line[1]: line[2] for line in lines[1:]}
    assert told["hand"] == "lid_open"  # all pins read high, which is a lid that is open
    assert told["arm"] == "stopped"
    assert told["lamp"] == "white"


def test_it_does_not_start_while_a_setting_is_open(capsys: pytest.CaptureFixture[str]) -> None:
    module = ModuleType("any")
    exec(compile(text_of(CHEST), "any.py", "exec"), module.__dict__)
    assert module.main() == 2
    assert "not set yet, at the top of this file: LAMP_GREEN_PIN, " in capsys.readouterr().err
    assert not Device.pin_factory.pins


def test_the_watchdog_of_the_file_puts_all_to_rest_where_a_loop_hangs(tmp_path: Path) -> None:
    watched = replace(CHEST, watchdog=100_000)
    more = (
        "def hangs(p, board, now_ms):\n"
        "    board.outputs['puff'].drive('open', now_ms)\n"
        "    sys.stdin.read()\n"
        "    __import__('time').sleep(60)\n"
        "prop.step = hangs\n"
        "rest = prop.Switches.rest\n"
        "def told(self):\n"
        "    rest(self)\n"
        "    print('rests', [d.value for d, _ in self.devices], flush=True)\n"
        "prop.Switches.rest = told\n"
    )
    going = program(tmp_path, watched, more)
    out, complaints = going.communicate(timeout=20)
    assert going.returncode == 70
    assert "no loop for too long" in complaints
    assert [line for line in out.splitlines() if line.startswith("rests")][:2] == [
        "rests [0, 0]",
        "rests [0]",
    ]


# --- What pins do by themselves -----------------------------------------------------------------


def test_a_motor_rests_before_it_turns_the_other_way() -> None:
    module = loaded(CHEST)  # pause: 300 ms
    arm = Playing(module).board.outputs["arm"]

    def shows(value: str, now_ms: int) -> tuple[bool, bool]:
        arm.drive(value, now_ms)
        return pin_of(module, "arm_rising").state, pin_of(module, "arm_sinking").state

    assert shows("rising", 0) == (True, False)
    assert shows("sinking", 10) == (False, False)
    assert shows("sinking", 300) == (False, False)
    assert shows("sinking", 310) == (False, True)
    assert shows("stopped", 400) == (False, False)
    assert shows("sinking", 410) == (False, True)  # the same way again needs no pause
    assert shows("stopped", 500) == (False, False)
    assert shows("rising", 799) == (False, False)
    assert shows("rising", 800) == (True, False)


def test_both_ways_of_a_motor_are_never_on_together() -> None:
    module = loaded(CHEST, ARM_PAUSE_MS=0)
    arm, both = Playing(module).board.outputs["arm"], []
    for pin in (pin_of(module, "arm_rising"), pin_of(module, "arm_sinking")):
        change = pin._change_state

        def watched(value: float, change: Any = change) -> bool:
            found = change(value)
            states = [pin_of(module, f"arm_{way}").state for way in ("rising", "sinking")]
            both.append(all(states))
            return bool(found)

        pin._change_state = watched
    for at, value in enumerate(["rising", "sinking", "rising", "stopped", "sinking"]):
        arm.drive(value, at)
        arm.drive(value, at)
    assert len(both) >= 6
    assert not any(both)


def test_a_motor_wired_the_other_way_has_its_ways_exchanged() -> None:
    module = loaded(CHEST, ARM_TURNS="other way")
    playing = Playing(module)
    playing.board.outputs["arm"].drive("rising", 0)
    assert not pin_of(module, "arm_rising").state
    assert pin_of(module, "arm_sinking").state


def test_a_sound_is_a_pulse_and_a_gap() -> None:
    module = loaded(CHEST)  # on_when: low, pulse: 120 ms, gap: 300 ms
    moan = Playing(module).board.outputs["moan"]

    def shows(value: str, now_ms: int) -> tuple[bool, bool]:
        moan.drive(value, now_ms)
        return not pin_of(module, "moan_creak").state, not pin_of(module, "moan_laugh").state

    assert shows("creak", 0) == (True, False)
    assert shows("creak", 110) == (True, False)
    assert shows("creak", 120) == (False, False)
    assert shows("laugh", 200) == (False, False)
    assert shows("laugh", 419) == (False, False)
    assert shows("laugh", 420) == (False, True)
    assert shows("silent", 430) == (False, True)
    assert shows("silent", 540) == (False, False)


def test_a_light_fades_to_its_share() -> None:
    module = loaded(CHEST)  # gives: ember 15 %, blaze 90 %; fade: 800 ms
    glow = Playing(module).board.outputs["glow"]
    shown = []
    for now_ms in range(10, 900, 10):
        glow.drive("blaze", now_ms)
        shown.append(pin_of(module, "glow").state)
    assert shown == sorted(shown)
    assert max(b - a for a, b in pairwise(shown)) <= 10 / 800 + 1e-9
    assert shown[-1] == pytest.approx(0.9)
    glow.rest()
    assert pin_of(module, "glow").state == 0


def test_a_servo_goes_to_the_angle_of_each_value() -> None:
    module = loaded(spec("fortune-teller"))  # gives: shut 15 deg, talking 40 deg
    jaw = module.Board().outputs["jaw"]
    assert jaw.device.angle == pytest.approx(15)
    jaw.drive("talking", 0)
    assert jaw.device.angle == pytest.approx(40)
    jaw.rest()
    assert jaw.device.angle == pytest.approx(15)


@pytest.mark.parametrize("pull", ["up", "down", "none"])
def test_a_contact_reads_by_its_level_whatever_pulls_it(pull: str) -> None:
    module = loaded(CHEST, LOW_PULL=pull)  # low: made
    contact, pin = module.wired_inputs()["low"], pin_of(module, "low")
    assert pin.pull == {"none": "floating"}.get(pull, pull)
    pin.drive_low()
    assert contact.read() == "made"
    pin.drive_high()
    assert contact.read() == "clear"


def test_a_selector_reads_what_is_chosen_and_between_two_what_it_read_last() -> None:
    module = loaded(spec("rotating-sign"))
    module.Levels = lambda *_: None
    light = module.wired_inputs()["light"]
    dusk, always = pin_of(module, "light_dusk"), pin_of(module, "light_always")
    assert light.read() == "off"
    dusk.drive_low()
    assert light.read() == "dusk"
    always.drive_low()
    assert light.read() == "dusk"
    dusk.drive_high()
    assert light.read() == "always"
    always.drive_high()
    assert light.read() == "off"


def test_an_analogue_reading_keeps_its_value_between_the_levels() -> None:
    module = loaded(spec("rotating-sign"))  # dim: below 300, bright: above 340, of 1023
    sky = module.Levels(0, [("dim", "below", 300), ("bright", "above", 340)], 1023, "bright")
    converter = type("Converter", (), {"value": 0.0})()
    sky.device.close()
    sky.device = converter
    found = []
    for count in (299, 300, 320, 340, 341, 320, 300, 299):
        converter.value = count / 1023
        found.append(sky.read())
    assert found == ["dim", "dim", "dim", "dim", "bright", "bright", "bright", "dim"]


# --- Steps --------------------------------------------------------------------------------------


@pytest.mark.parametrize("steps", [1, 2, 35, 800])
def test_the_intervals_of_a_move_are_those_that_the_numbers_have(steps: int) -> None:
    module = loaded(spec("lantern-wheel"))
    first, shortest = module.WHEEL_STEPS_FIRST, module.WHEEL_STEPS_SHORTEST
    made = module.Intervals(first, shortest, False)
    made.begin(steps)
    found = []
    while (wait_us := made.next()) > 0:
        found.append(wait_us)
    assert found == list(intervals(StepPlan(first, shortest), steps))


def test_a_stepper_that_ramps_down_loses_speed_as_it_gained_it() -> None:
    module = loaded(spec("lantern-wheel"))
    made = module.Intervals(module.WHEEL_STEPS_FIRST, module.WHEEL_STEPS_SHORTEST, True)
    made.begin(module.ENDLESS)
    gained = [made.next() for _ in range(40)]
    made.rest()
    lost = []
    while (wait_us := made.next()) > 0:
        lost.append(wait_us)
    assert len(lost) == 39
    assert lost[-1] == gained[0]


def stepping(module: Any, name: str = "wheel") -> tuple[Any, list[bool], threading.Event]:
    """Give a stepper, the direction at each of its steps, and an event set with every step."""
    wheel = module.wired_outputs()[name]
    made, came = [], threading.Event()
    step_on = wheel.step.on

    def counted() -> None:
        made.append(bool(wheel.direction.value))
        came.set()
        step_on()

    wheel.step.on = counted
    return wheel, made, came


def test_a_move_makes_each_step_once_and_is_done_then() -> None:
    module = loaded(spec("lantern-wheel"), WHEEL_STEPS_FIRST=25_600, WHEEL_STEPS_SHORTEST=25_600)
    wheel, made, _ = stepping(module)
    assert not pin_of(module, "wheel_enable").state
    wheel.move("forward", 40, 0)
    waited = threading.Event()
    for _ in range(500):
        if wheel.is_done():
            break
        waited.wait(0.01)
    assert wheel.is_done()
    assert made == [True] * 40
    assert pin_of(module, "wheel_enable").state
    wheel.move("forward", 0, 10)
    wheel.drive("stopped", 20)
    assert len(made) == 40
    wheel.close()


def test_a_stepper_at_rest_makes_one_step_more_at_most() -> None:
    module = loaded(spec("lantern-wheel"), WHEEL_STEPS_FIRST=25_600, WHEEL_STEPS_SHORTEST=25_600)
    wheel, made, came = stepping(module)
    wheel.drive("forward", 0)
    assert came.wait(5)
    wheel.drive("stopped", 10)
    at = len(made)
    threading.Event().wait(0.05)
    assert len(made) <= at + 1
    wheel.close()


def test_a_stepper_comes_to_rest_before_it_turns_the_other_way() -> None:
    quick = {"SIGN_STEPS_FIRST": 25_600, "SIGN_STEPS_SHORTEST": 25_600, "SIGN_PAUSE_MS": 0}
    module = loaded(spec("rotating-sign"), **quick)
    sign, made, came = stepping(module, "sign")
    sign.drive("forward", 0)
    assert came.wait(5)
    for at in range(1, 200):
        sign.drive("reverse", at * 10)
        if sign.told == "reverse":
            break
        threading.Event().wait(0.001)
    assert sign.told == "reverse"
    threading.Event().wait(0.02)
    sign.close()
    turned = made.index(False)
    assert turned > 0
    assert not any(made[turned:])


def test_the_driver_of_a_stepper_goes_off_after_a_while_at_rest() -> None:
    quick = {"WHEEL_STEPS_FIRST": 25_600, "WHEEL_STEPS_SHORTEST": 25_600, "WHEEL_HOLD_MS": 40}
    module = loaded(spec("lantern-wheel"), **quick)
    wheel, _, came = stepping(module)
    enable = pin_of(module, "wheel_enable")
    wheel.drive("forward", 0)
    assert came.wait(5)
    assert enable.state
    wheel.drive("stopped", 10)
    assert enable.state
    for _ in range(500):
        if not enable.state:
            break
        threading.Event().wait(0.01)
    assert not enable.state
    wheel.close()


# --- That the comparison sees -------------------------------------------------------------------


@cache
def few_runs() -> Runs:
    return runs_of(CAROUSEL, Effort(calls=1500, most_calls=1500, walks=1))


@pytest.mark.parametrize(
    ("right", "wrong", "at"),
    [
        ("and prop.loaded > 0", "and prop.loaded > 1", "region carousel"),
        ('prop.valve = "open"', 'prop.valve = "shut"', "output valve"),
        ("self.raw_for >= self", "self.raw_for > self", "input"),
        ("device.value = value in values", "pass", "the board's complaint"),
        ("initial_value=rest in values", "initial_value=True", "the board's complaint"),
        ("prop.carousel_for += loops", "prop.carousel_for += 1", "region carousel"),
    ],
)  # fmt: skip
def test_a_fault_planted_in_the_module_is_found(
    right: str, wrong: str, at: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    from codegen.conform import on_pi

    def planted(model: Model, source_name: str, target: str) -> list[Any]:
        files = emit(model, source_name, target)
        assert right in files[0].text
        return [replace(files[0], text=files[0].text.replace(right, wrong, 1))]

    monkeypatch.setattr(on_pi, "emit", planted)
    report = match_on_pi(CAROUSEL, "confetti-carousel.yaml", few_runs())
    assert report.mismatch is not None
    assert report.mismatch.what.startswith(at)
