"""The module for a Raspberry Pi: what is emitted, power-up, the end, and faults planted in it."""

import signal
import subprocess
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from gpiozero import Device
from gpiozero.pins.mock import MockFactory
from transitions import MachineError

from behaviour.controllers import controller
from behaviour.model import Model
from codegen.conform.match import match_on_pi
from codegen.conform.runs import Effort, Runs, runs_of
from codegen.emit import emit
from codegen.keep import Done, write_files
from codegen.python.source import open_settings
from codegen.refusals import CannotEmitError
from tests.firmware.mock_pins import as_emitted, loaded, pin_of, pins, powered_up, text_of
from tests.firmware.props import demo_names, models, spec

CHEST = spec("treasure-chest")
CAROUSEL = spec("confetti-carousel")


__all__ = ["pins"]


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


def test_a_pin_that_another_has_already_is_left_open() -> None:
    text = text_of(spec("faulty/clock-on-the-serial-line"))
    assert "\nCHAIN_PIN = 4  # 10: chain\n" in text
    assert "\nFACE_PIN = None  # 14: face: 4 in the file, which chain has already\n" in text


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
    module = loaded(CHEST)
    board = powered_up(module)
    outputs = board.outputs
    outputs["lamp"].drive("green", 0)

    def fails() -> None:
        raise OSError("no such pin")

    outputs["arm"].rest = fails
    with pytest.raises(OSError, match="no such pin"):
        board.rest()
    assert not pin_of(module, "lamp_green").state


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
    module = as_emitted(CHEST)
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
