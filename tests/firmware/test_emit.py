"""What is emitted: the same bytes each time, every line of the file found again, refusals."""

import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from behaviour.cautions import CAUTIONS
from behaviour.controllers import UnknownControllerError, controller
from behaviour.fingerprint import fingerprint
from behaviour.model import InputWiring, Model, OutputWiring, Unknown
from behaviour.source import Span
from codegen.emit import EmittedFile, emit, firmware_name
from codegen.refusals import CannotEmitError
from tests.firmware.props import NESTED, ODD_NAMES, TIMING, models, spec
from tests.making import button, counter, is_, output, prop, region, state, way

CAROUSEL = spec("confetti-carousel")


def texts(model: Model, source_name: str = "some.yaml") -> dict[str, str]:
    return {file.path.split("/")[1]: file.text for file in emit(model, source_name, "host")}


def test_two_emits_give_the_same_bytes_whatever_the_path_and_the_hash_seed(tmp_path: Path) -> None:
    program = (
        "import sys\n"
        "from codegen.emit import emit\n"
        "from tests.firmware.props import models\n"
        "for name, model in models().items():\n"
        "    for target in ('host', 'pi'):\n"
        "        for file in emit(model, f'{sys.argv[1]}/{name}.yaml', target):\n"
        "            print(file.path, file.text)\n"
    )
    printed = []
    for seed, place in (("1", "."), ("2", str(tmp_path))):
        environment = os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": str(Path.cwd())}
        done = subprocess.run(
            [sys.executable, "-c", program, place],
            env=environment,
            capture_output=True,
            check=True,
        )
        printed.append(done.stdout)
    assert printed[0] == printed[1]
    assert len(printed[0]) > 100_000


def test_every_file_carries_the_fingerprint() -> None:
    for name, model in models().items():
        for file in emit(model, f"{name}.yaml", "host"):
            assert fingerprint(model) in file.text, file.path


@pytest.mark.parametrize("name", ["confetti-carousel", "lift-platform", "fortune-teller"])
def test_every_transition_of_the_file_is_found_again_by_its_line_and_words(name: str) -> None:
    model = spec(name)
    prefix = firmware_name(model, name)
    source = texts(model)[f"{prefix}.c"]
    comments = " ".join(re.sub(r"\n\s*\*", " ", source).split())
    for found in model.regions:
        for transition in found.transitions():
            assert f"{transition.span.line}: " in comments
    assert source.count("switch (prop->") >= len(model.regions)


def test_a_state_of_the_carousel_reads_as_the_file_does() -> None:
    source = texts(CAROUSEL)["confetti_carousel.c"]
    line = _line_of("trigger becomes pressed and loaded > 0")
    assert (
        f"""\
    case CONFETTI_CAROUSEL_STATE_IDLE:
        if (prop->trigger_changed
                && (prop->trigger == CONFETTI_CAROUSEL_TRIGGER_PRESSED)
                && (prop->loaded > 0)) {{
            /* {line}: when trigger becomes pressed and loaded > 0, go turn */
            enter_carousel(prop, CONFETTI_CAROUSEL_STATE_TURN);
        }} else if (prop->trigger_changed
                && (prop->trigger == CONFETTI_CAROUSEL_TRIGGER_PRESSED)) {{
            /* {line + 1}: when trigger becomes pressed, go empty */
            enter_carousel(prop, CONFETTI_CAROUSEL_STATE_EMPTY);
        }}
        break;
"""
        in source
    )


def test_every_time_and_pin_stands_in_the_settings_and_nowhere_else() -> None:
    files = texts(CAROUSEL)
    settings = files["confetti_carousel_settings.h"]
    assert "\n#define CONFETTI_CAROUSEL_TURN_AFTER_MS 1500u\n" in settings
    assert "\n#define CONFETTI_CAROUSEL_LID_STEADY_CLOSED_MS 200u\n" in settings
    assert "\n#define CONFETTI_CAROUSEL_JAMMED_TRIGGER_PRESSED_FOR_MS 3000u\n" in settings
    assert "\n#define CONFETTI_CAROUSEL_DRUM_STEP_PIN 5u\n" in settings
    assert "\n#define CONFETTI_CAROUSEL_LID_LOW CONFETTI_CAROUSEL_LID_CLOSED\n" in settings
    assert not re.search(r"\b(1500|3000|600|250|200|100)\b", _code(files["confetti_carousel.c"]))


def test_a_part_of_a_millisecond_is_rounded_up_as_the_loops_are() -> None:
    settings = texts(TIMING)["some_settings.h"]
    assert "rounded up from 10.5 ms" in settings
    assert "#define SOME_LIGHTS_RUN_CUE_3_MS 11u" in settings


def test_the_sheet_has_the_wiring_the_states_the_verdicts_and_every_caution() -> None:
    verdicts = ["holds: nothing turns under an open lid", "not checked yet: faults"]
    files = emit(CAROUSEL, "confetti-carousel.yaml", "host", verdicts)
    sheet = next(file.text for file in files if file.path.endswith(".md"))
    assert "| drum | motor | 5 (step) | on when high, hazard |" in sheet
    assert "| lid\\_open |" not in sheet
    assert "| lid_open | lamp white | Lid open: load, then close it. |" in sheet
    for line in (*verdicts, *CAUTIONS):
        assert f"- {line}\n" in sheet


def on_pins(**pins: str) -> Model:
    """Give a prop with a button, a valve and a horn on pins as a file may call them."""
    valve = OutputWiring(pin=pins["valve"], on_when="low")
    horn = OutputWiring(pins=(("beep", pins["horn"]),), pulse=50_000)
    return prop(
        region("r", state("a", leave=[way("b", is_("b", "pressed"))]), state("b")),
        inputs=[replace(button("b"), wiring=InputWiring(pin=pins["b"], pull="up", low="pressed"))],
        outputs=[
            replace(output("valve", "shut", "open", kind="valve"), wiring=valve, hazard=True),
            replace(output("horn", "quiet", "beep", kind="sound"), wiring=horn),
        ],
    )


@pytest.mark.parametrize(
    ("board", "pins", "names", "macros"),
    [
        ("uno", ("14", "a1", "13"), ("A0", "A1", "13"), ("A0", "A1", "13u")),
        ("pico", ("GP15", "gp2", "26"), ("15", "2", "26"), ("15u", "2u", "26u")),
        ("esp32", ("GPIO23", "IO22", "5"), ("23", "22", "5"), ("23u", "22u", "5u")),
    ],
)
def test_pins_are_called_as_the_controller_has_them(board, pins, names, macros):
    model = on_pins(**dict(zip(("b", "valve", "horn"), pins, strict=True)))
    files = emit(model, "some.yaml", board)
    sheet, settings = _first(files, ".md"), _first(files, "_settings.h")

    for name, macro in zip(("B", "VALVE", "HORN_BEEP"), macros, strict=True):
        assert f"#define SOME_{name}_PIN {macro}\n" in settings
    assert f"| b | button | {names[0]} | pull up, low reads pressed |" in sheet
    assert f"| valve | valve | {names[1]} | on when low, hazard | high | shut (rest), open |" in (
        sheet
    )
    assert f"| horn | sound | {names[2]} (beep) | on when high" in sheet


def test_the_sheet_has_the_cautions_of_the_controller_and_what_its_pins_do_by_themselves():
    model = on_pins(b="2", valve="3", horn="13")
    sheet = _first(emit(model, "some.yaml", "uno"), ".md")

    assert "Controller: Arduino Uno, an ATmega328P at 16 MHz and 5 V." in sheet
    assert "on when high, its light blinks while a new program is loaded and at every reset" in (
        sheet
    )
    for caution in controller("uno").cautions:
        assert f"- {caution}.\n" in sheet
    assert "Controller:" not in _first(emit(model, "some.yaml", "host"), ".md")


def test_names_that_meet_are_told_apart() -> None:
    header = texts(ODD_NAMES, "odd-names.yaml")["odd_names.h"]
    assert "ODD_NAMES_REST_ON,\n    ODD_NAMES_REST_ON_2,\n    ODD_NAMES_REST_ON_2_2\n" in header
    assert "ODD_NAMES_PROP_RAW,\n    ODD_NAMES_PROP_RAW_2," in header


@pytest.mark.parametrize("loop", [1500, 0])
def test_a_loop_that_is_no_whole_millisecond_is_refused(loop: int) -> None:
    _refused(replace(CAROUSEL, loop=loop), "`loop` is not a whole number of milliseconds")


def test_each_unknown_is_named_and_nothing_is_emitted() -> None:
    unknowns = (Unknown("turn.after", Span(40, 20, 40, 27)), Unknown("pin of mark"))
    _refused(
        replace(CAROUSEL, unknowns=unknowns),
        "`turn.after` is still `unknown` (line 40): nothing is emitted until it is known",
        "`pin of mark` is still `unknown`: nothing is emitted until it is known",
    )


def test_an_unknown_that_only_stands_inside_is_found_too() -> None:
    wired = replace(CAROUSEL.inputs[0], wiring=InputWiring(pin=Unknown("pin of lid")))
    _refused(
        replace(CAROUSEL, inputs=(wired, *CAROUSEL.inputs[1:])),
        "`pin of lid` is still `unknown`: nothing is emitted until it is known",
    )


def test_what_c_cannot_hold_is_refused_in_plain_words() -> None:
    days = 50 * 24 * 60 * 60 * 1000
    model = prop(
        region("r", state("a", leave=[way("int", is_("b", "pressed"), after=days)]), state("int")),
        inputs=[replace(button("b"), wiring=InputWiring(pin="3; x"))],
        counters=[counter("n", 0, 2_000_000_000)],
    )
    _refused(
        replace(model, firmware_name="while"),
        "`while` cannot begin names in C: `firmware_name` gives another",
        "`int` cannot be a name in C",
        "`3; x`, the pin of `b`, cannot stand in C: a pin is a number or a name",
        "counter `n` is larger than the firmware counts: 1000000000",
        "`after` in `r.a` is longer than the firmware can count: 49.7 days",
    )


def test_a_controller_that_there_is_not_is_told_with_those_that_there_are() -> None:
    with pytest.raises(
        UnknownControllerError, match=r"^there is no controller `toaster`: the names"
    ):
        emit(CAROUSEL, "x.yaml", "toaster")


def test_the_file_name_gives_a_name_where_the_file_gives_none() -> None:
    assert firmware_name(NESTED, "props/My first-prop.yaml") == "My_first_prop"
    assert firmware_name(NESTED, "3d.yaml") == "prop_3d"
    assert firmware_name(NESTED, "----.yaml") == "prop"
    assert firmware_name(replace(NESTED, firmware_name="lift"), "x.yaml") == "lift"


def _refused(model: Model, *reasons: str) -> None:
    with pytest.raises(CannotEmitError) as caught:
        emit(model, "some.yaml", "host")
    assert caught.value.reasons == reasons


def _line_of(words: str) -> int:
    lines = Path("specs/confetti-carousel.yaml").read_text(encoding="utf-8").splitlines()
    return next(number for number, line in enumerate(lines, 1) if words in line)


def _code(text: str) -> str:
    return re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)


def _first(files: tuple[EmittedFile, ...], name: str) -> str:
    return next(file.text for file in files if file.path.endswith(name))
