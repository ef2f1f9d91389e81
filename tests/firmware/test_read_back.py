"""Settings that were edited on the bench are read back, shown, and lost in neither direction."""

import io
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from behaviour.cli import main
from behaviour.source import Source
from codegen.emit import EmittedFile, Whose
from codegen.keep import Done, write_files
from codegen.lower import lower
from codegen.read_back import Differs, is_edited_in_values_alone, read_back, with_values
from codegen.settings import settings
from codegen.spec_lines import rewrites
from tests.firmware.compilers import complaints
from tests.firmware.props import SPECS, spec

NAME = "confetti-carousel"
MODEL = spec(NAME)
MODULE = lower(MODEL, f"{NAME}.yaml", "confetti_carousel")
SETTINGS = settings(MODULE)
SPEC = (SPECS / f"{NAME}.yaml").read_text(encoding="utf-8")
UPPER = "CONFETTI_CAROUSEL"


def edited(*changes: tuple[str, str], text: str = SETTINGS) -> str:
    """Change values of settings as somebody at the bench would."""
    for old, new in changes:
        assert text.count(f"_{old}\n") == 1, old
        text = text.replace(f"_{old}\n", f"_{new}\n")
    return text


MARK = ("MARK_PIN 4u", "MARK_PIN 7")


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (*MARK, "pin of mark: file 4, bench 7"),
        ("MARK_PIN 4u", "MARK_PIN A3", "pin of mark: file 4, bench A3"),
        ("LAMP_RED_PIN 11u", "LAMP_RED_PIN (0x10)", "pin red of lamp: file 11, bench 16"),
        (
            "LID_PULL CONFETTI_CAROUSEL_PULL_UP",
            "LID_PULL CONFETTI_CAROUSEL_PULL_NONE /* has one */",
            "pull of lid: file up, bench none",
        ),
        (
            "LID_LOW CONFETTI_CAROUSEL_LID_CLOSED",
            "LID_LOW CONFETTI_CAROUSEL_LID_OPEN",
            "low of lid: file closed, bench open",
        ),
        ("VALVE_ON_WHEN_LOW 0u", "VALVE_ON_WHEN_LOW 1u", "on_when of valve: file high, bench low"),
        (
            "DRUM_TURNS_OTHER_WAY 0u",
            "DRUM_TURNS_OTHER_WAY 1",
            "turns of drum: file as wired, bench other way",
        ),
        (
            "TURN_AFTER_MS 1500u",
            "TURN_AFTER_MS 1600UL",
            "turn goes to jammed after: file 1500 ms, bench 1600 ms",
        ),
        (
            "LID_STEADY_CLOSED_MS 200u",
            "LID_STEADY_CLOSED_MS  150u",
            "steady of lid, closed: file 200 ms, bench 150 ms",
        ),
        ("LOOP_MS 10u", "LOOP_MS 20u", "loop: file 10 ms, bench 20 ms"),
    ],
)  # fmt: skip
def test_a_value_from_the_bench_is_told_in_the_words_of_the_file(old, new, told):
    back = read_back(MODULE, edited((old, new)))

    assert [str(each) for each in back.differs] == [told]
    assert back.unclear == ()


@pytest.mark.parametrize("text", [SETTINGS, SETTINGS.replace("\n", "\r\n")])
def test_settings_as_they_were_emitted_differ_in_nothing(text):
    assert read_back(MODULE, text).differs == ()
    assert not is_edited_in_values_alone(text)


@pytest.mark.parametrize("same", ["MARK_PIN 4", "MARK_PIN (4u)", "MARK_PIN 0x4u", "MARK_PIN  4u"])
def test_the_same_value_written_otherwise_is_no_difference(same):
    assert read_back(MODULE, edited(("MARK_PIN 4u", same))).differs == ()


def test_what_the_file_has_changed_since_is_no_value_of_the_bench():
    lid = replace(MODEL.inputs[0], wiring=replace(MODEL.inputs[0].wiring, pin="14"))
    newer = lower(
        replace(MODEL, inputs=(lid, *MODEL.inputs[1:])), f"{NAME}.yaml", "confetti_carousel"
    )

    (differs,) = read_back(newer, edited(MARK)).differs

    assert str(differs) == "pin of mark: file 4, bench 7"


def test_what_the_file_has_come_to_have_too_is_settled():
    mark = replace(MODEL.inputs[2], wiring=replace(MODEL.inputs[2].wiring, pin="7"))
    newer = lower(
        replace(MODEL, inputs=(*MODEL.inputs[:2], mark)), f"{NAME}.yaml", "confetti_carousel"
    )

    assert read_back(newer, edited(MARK)).differs == ()


def test_a_value_whose_setting_is_gone_from_the_file_is_told():
    kept = tuple(define for define in MODULE.wiring if not define.name.endswith("VALVE_PIN"))
    newer = replace(MODULE, wiring=kept)
    found = edited(("VALVE_PIN 8u", "VALVE_PIN 18u"))

    assert [str(each) for each in read_back(newer, found).differs] == [
        "CONFETTI_CAROUSEL_VALVE_PIN: file has no such thing, bench 18"
    ]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("MARK_PIN 4u", "MARK_PIN 4u + 1u"),
        ("MARK_PIN 4u", 'MARK_PIN system("x")'),
        ("TURN_AFTER_MS 1500u", "TURN_AFTER_MS LONG"),
        ("TURN_AFTER_MS 1500u", "TURN_AFTER_MS 99999999999"),
        ("LOOP_MS 10u", "LOOP_MS 0u"),
        ("VALVE_ON_WHEN_LOW 0u", "VALVE_ON_WHEN_LOW 2u"),
        ("LID_PULL CONFETTI_CAROUSEL_PULL_UP", "LID_PULL INPUT_PULLUP"),
        ("LID_PULL CONFETTI_CAROUSEL_PULL_UP", "LID_PULL 1u"),
    ],
)
def test_what_is_no_value_for_the_place_is_not_understood_and_never_written_back(old, new):
    back = read_back(MODULE, edited((old, new)))

    assert back.differs == ()
    assert back.unclear == (f"{UPPER}_{new}",)


def test_values_of_the_bench_leave_all_else_as_it_is_and_are_told_again_next_time():
    (differs,) = read_back(MODULE, edited(MARK)).differs
    put = with_values(SETTINGS, {differs.name: differs.put})

    assert put == edited(("MARK_PIN 4u", "MARK_PIN 7u"))
    assert is_edited_in_values_alone(put)
    assert read_back(MODULE, put).differs == (differs,)


def test_an_edit_beyond_values_is_an_edit_by_hand():
    assert not is_edited_in_values_alone(edited(MARK) + "#define MORE 1\n")
    assert not is_edited_in_values_alone(SETTINGS.replace("/* 41:", "/* 42:"))


# --- Where it is to be changed in the file -------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (MARK, (41, "pin of mark: `pin: 4` becomes `pin: 7`")),
        (("LAMP_RED_PIN 11u", "LAMP_RED_PIN 16u"),
         (46, "pin red of lamp: `red: 11` becomes `red: 16`")),
        (
            ("LID_PULL CONFETTI_CAROUSEL_PULL_UP", "LID_PULL CONFETTI_CAROUSEL_PULL_DOWN"),
            (38, "pull of lid: `pull: up` becomes `pull: down`"),
        ),
        (("TURN_AFTER_MS 1500u", "TURN_AFTER_MS 1600u"),
         (34, "turn goes to jammed after: `jam_time: 1500 ms` becomes `jam_time: 1600 ms`")),
        (("EMPTY_AFTER_MS 2000u", "EMPTY_AFTER_MS 2500u"),
         (76, "empty goes to idle after: `2 s` becomes `2500 ms`")),
        (("VALVE_ON_WHEN_LOW 0u", "VALVE_ON_WHEN_LOW 1u"),
         (45, "on_when of valve: write `on_when: low`")),
        (("LOOP_MS 10u", "LOOP_MS 20u"), (4, "loop: `loop: 10 ms` becomes `loop: 20 ms`")),
        (("SHOT_CUE_2_MS 250u", "SHOT_CUE_2_MS 240u"),
         (71, "shot, moment 2: `250 ms` becomes `240 ms`")),
    ],
)  # fmt: skip
def test_the_line_of_the_file_is_named_with_what_to_write_there(change, told):
    differs = read_back(MODULE, edited(change)).differs

    (rewrite,) = rewrites(SPEC, MODEL.settings, differs)

    assert (rewrite.line, str(rewrite)) == told


def test_a_line_that_has_the_same_time_twice_and_a_file_that_is_shorter_by_now_are_not_guessed_at():
    twice = Differs("X_MS", 1, "it goes on after", "3 s", "4 s", "4000u")
    beyond = replace(twice, line=9)

    found = rewrites("leave: [{when: b is pressed for 2 s, after: 2 s}]\n", (), (twice, beyond))

    assert [str(each) for each in found] == ["it goes on after: write `4 s`"] * 2


# --- The commands --------------------------------------------------------------------------------


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    assert emit(tmp_path) == 0
    return tmp_path


def emit(into: Path, *more: str, file: str = f"specs/{NAME}.yaml") -> int:
    return main(["emit", file, "--into", str(into), "--controller", "host", "--unchecked", *more])


def settings_in(into: Path) -> Path:
    return into / "confetti_carousel" / "confetti_carousel_settings.h"


def on_the_bench(into: Path) -> Path:
    path = settings_in(into)
    path.write_text(edited(MARK), encoding="utf-8")
    return path


def texts(into: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(into.rglob("*")) if path.is_file()}


def test_off_a_terminal_nothing_is_written_and_the_exit_is_1(folder, capsys):
    on_the_bench(folder)
    before = texts(folder)
    capsys.readouterr()

    assert emit(folder) == 1
    assert texts(folder) == before
    told = capsys.readouterr()
    assert told.out == "pin of mark: file 4, bench 7\n"
    assert told.err.endswith("nothing is written: `--take file` or `--take bench` decides\n")


def test_taking_the_bench_keeps_its_value_builds_and_says_what_to_write_in_the_file(folder, capsys):
    path = on_the_bench(folder)
    capsys.readouterr()

    assert emit(folder, "--take", "bench") == 0
    assert path.read_text(encoding="utf-8") == edited(("MARK_PIN 4u", "MARK_PIN 7u"))
    assert complaints("gcc", path.parent) == ""
    assert (
        f"  specs/{NAME}.yaml:41: pin of mark: `pin: 4` becomes `pin: 7`\n"
        in capsys.readouterr().out
    )
    assert not list(folder.rglob("*.bench"))
    assert emit(folder) == 1


def test_taking_the_file_puts_what_the_bench_had_beside(folder, capsys):
    path = on_the_bench(folder)

    assert emit(folder, "--take", "file") == 0
    assert path.read_text(encoding="utf-8") == SETTINGS
    beside = path.with_name(path.name + ".bench")
    assert beside.read_text(encoding="utf-8") == edited(MARK)
    assert f"what `{path.name}` had from the bench is `{beside.name}`" in capsys.readouterr().err
    assert emit(folder) == 0
    path.write_text(edited(("MARK_PIN 4u", "MARK_PIN 9u")), encoding="utf-8")
    assert emit(folder, "--take", "file") == 0
    assert beside.read_text(encoding="utf-8") == edited(MARK)
    assert "MARK_PIN 9u" in path.with_name(path.name + ".bench-2").read_text(encoding="utf-8")


class Terminal(io.StringIO):
    def isatty(self):
        return True


@pytest.mark.parametrize(
    ("answers", "code", "pin"),
    [("bench\n", 0, "7u"), ("what?\nfile\n", 0, "4u"), ("", 1, "7")],
)
def test_a_terminal_is_asked(folder, monkeypatch, answers, code, pin):
    on_the_bench(folder)
    monkeypatch.setattr(sys, "stdin", Terminal(answers))
    monkeypatch.setattr(sys, "stdout", Terminal())

    assert emit(folder) == code
    assert f"_MARK_PIN {pin}\n" in settings_in(folder).read_text(encoding="utf-8")


def test_what_the_bench_changed_goes_on_once_the_file_has_it_too(folder, tmp_path):
    on_the_bench(folder)
    newer = tmp_path / f"{NAME}.yaml"
    newer.write_text(SPEC.replace("pin: 4,", "pin: 7,"), encoding="utf-8")

    assert emit(folder, file=str(newer)) == 0
    assert "_MARK_PIN 7u\n" in settings_in(folder).read_text(encoding="utf-8")
    assert not list(folder.rglob("*.bench"))


def test_what_cannot_be_read_back_stops_everything(folder, capsys):
    path = settings_in(folder)
    path.write_text(edited(("MARK_PIN 4u", "MARK_PIN 4u + 1u")), encoding="utf-8")
    before = texts(folder)

    assert emit(folder, "--take", "bench") == 2
    assert texts(folder) == before
    assert "`CONFETTI_CAROUSEL_MARK_PIN 4u + 1u`" in capsys.readouterr().err


def test_settings_are_never_written_over_by_whoever_does_not_ask(tmp_path):
    old = EmittedFile("p/p_settings.h", edited(MARK), Whose.GENERATED)
    (tmp_path / "p").mkdir()
    (tmp_path / old.path).write_text(old.text, encoding="utf-8")

    (kept,) = write_files(tmp_path, [replace(old, text=SETTINGS)]).files

    assert kept.done is Done.WRITTEN
    assert (tmp_path / "p" / "p_settings.h.bench").read_text(encoding="utf-8") == edited(MARK)


@pytest.mark.parametrize("named", ["", "confetti_carousel"])
def test_check_shows_what_the_firmware_of_the_bench_has_otherwise(folder, capsys, named):
    arguments = ["check", f"specs/{NAME}.yaml", "--firmware", str(folder / named)]

    assert main(arguments) == 0
    on_the_bench(folder)
    capsys.readouterr()
    assert main(arguments) == 1
    assert capsys.readouterr().err == "tablework: pin of mark: file 4, bench 7\n"


def test_check_tells_that_the_firmware_is_of_another_file(folder, tmp_path, capsys):
    newer = tmp_path / f"{NAME}.yaml"
    newer.write_text(SPEC.replace("600 ms", "700 ms"), encoding="utf-8")

    assert main(["check", str(newer), "--firmware", str(folder)]) == 1
    told = capsys.readouterr().err
    assert "was emitted from fingerprint 9c71-3658, and the file has " in told


def test_check_tells_that_there_is_no_firmware(tmp_path, capsys):
    assert main(["check", f"specs/{NAME}.yaml", "--firmware", str(tmp_path)]) == 2
    assert "has no firmware of this file" in capsys.readouterr().err


def test_every_setting_of_a_demo_prop_can_be_read_back():
    for path in sorted(SPECS.glob("*.yaml")):
        model = spec(path.stem)
        module = lower(model, path.name, "any")
        text = settings(module)
        told = 0
        for line in (each for each in text.splitlines() if each.startswith("#define")):
            _, name, *value = line.split()
            if value and value[0].removesuffix("u").isdecimal() and "_PULL_" not in name:
                other = {"0u": "1u", "1u": "0u"}.get(value[0], "77u")
                found = with_values(text, {name: other})
                (differs,) = read_back(module, found).differs
                assert differs.put == other
                assert (
                    rewrites(
                        Source(path.name, path.read_text("utf-8")).text, model.settings, [differs]
                    )[0].line
                    > 0
                )
                told += 1
        assert told > 10
