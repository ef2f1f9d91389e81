"""The command line as a new user meets it: every message provoked, every exit code seen."""

import json
import os
import pty
import re
import signal
import subprocess
import sys
import time
from importlib.resources import files
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from behaviour.cli import main
from behaviour.findings import NOT_CHECKED_YET
from behaviour.language.load import read_model
from behaviour.report.text import mistakes_text
from behaviour.source import Source
from tests.carousel import CAROUSEL, FORGETFUL
from tests.reading import ROOT

CALM = """\
language: 1
prop: Lantern
loop: 10 ms
inputs: {tap: {kind: button, steady: 20 ms}}
outputs: {glow: {kind: light, values: [dark, lit]}}
regions:
  lantern:
    begins: out
    states:
      out: {leave: [{when: tap becomes pressed, go: burning}]}
      burning: {set: {glow: lit}, leave: [{when: tap becomes pressed, go: out}]}
rules:
  - {name: it can go out, way back: lantern in out}
"""
NOT_KNOWN_YET = (
    CALM.replace("rules:", "  # nothing else")
    .replace("- {name: it can go out, way back: lantern in out}", "")
    .replace("when: tap becomes pressed, go: out", "after: unknown, go: out")
)
PROGRAM = [sys.executable, "-c", "from behaviour.cli import main; raise SystemExit(main())"]


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("calm.yaml").write_text(CALM, encoding="utf-8")
    Path("forgetful.yaml").write_text(FORGETFUL.text, encoding="utf-8")
    Path("carousel.yaml").write_text(CAROUSEL.text, encoding="utf-8")
    Path("wrong.yaml").write_text(CALM.replace("becomes", "becoms"), encoding="utf-8")
    Path("open.yaml").write_text(NOT_KNOWN_YET, encoding="utf-8")


SHIPPED = Path(__file__).parents[1] / "specs" / "confetti-carousel.yaml"


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    code = main(arguments)
    out, err = capsys.readouterr()
    return code, out, err


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Give the one line that a command is refused with."""
    code, out, err = run(capsys, *arguments)
    assert (code, out) == (2, "")
    assert err.startswith("tablework: ")
    assert err.count("\n") == 1
    return err.removeprefix("tablework: ").rstrip("\n")


def environment(**more: str) -> dict[str, str]:
    return os.environ | {"PYTHONPATH": str(ROOT)} | more


# --- Help and arguments -------------------------------------------------------------------------


@pytest.mark.parametrize("arguments", [[], ["--help"], ["-h"], ["help"]])
def test_help_lists_the_commands_in_groups(capsys, arguments):
    code, out, _ = run(capsys, *arguments)

    assert code == 0
    assert [
        line.split("  ")[0] for line in out.splitlines() if line.startswith(("at ", "for "))
    ] == [
        "at the table",
        "for the code",
    ]


def test_help_comes_at_once_and_loads_no_room():
    code = (
        "import sys, behaviour.cli as cli; cli.main(['--help']);"
        "print(*sorted(set(sys.modules) & {'yaml', 'lark', 'graphviz', 'behaviour.pipeline'}))"
    )
    seconds = []
    for _ in range(5):
        begin = os.times()
        done = subprocess.run(
            [sys.executable, "-c", code], env=environment(), capture_output=True, check=True
        )
        end = os.times()
        used = end.children_user + end.children_system
        seconds.append(used - begin.children_user - begin.children_system)

    assert done.stdout.splitlines()[-1] == b""
    assert min(seconds) < 0.15


def test_each_command_has_help_of_its_own(capsys):
    for command in ("check", "draw", "explain", "rehearse", "emit", "match-c"):
        code, out, _ = run(capsys, command, "--help")

        assert code == 0
        assert out.startswith(f"usage: tablework {command} ")


def test_an_unknown_command_gets_the_nearest(capsys):
    assert refused(capsys, "chek") == "there is no command `chek`: there is `check`"
    assert refused(capsys, "zzzzz") == (
        "there is no command `zzzzz`: `tablework --help` lists them"
    )


def test_wrong_arguments_get_one_line(capsys):
    assert refused(capsys, "check") == "missing: SPEC; `tablework check --help` tells more"
    assert refused(capsys, "check", "--as", "xml", "calm.yaml").startswith(
        "`--as` cannot be `xml`: there is `text`, `json`, `sarif`, `junit`; "
    )
    assert "`soon` is not a number of seconds" in refused(
        capsys, "check", "--limit", "soon", "calm.yaml"
    )
    assert refused(capsys, "draw", "calm.yaml", "--nonsense") == (
        "there is no option `--nonsense`; `tablework draw --help` tells more"
    )
    assert "there is no option `--notse`: there is `--notes`" in refused(
        capsys, "check", "calm.yaml", "--notse"
    )
    assert "`b` is one too many" in refused(capsys, "explain", "dead-end", "b")
    assert "`--into` needs a word behind it" in refused(capsys, "emit", "calm.yaml", "--into")
    assert "`--story` and `--script` do not go together" in refused(
        capsys, "rehearse", "calm.yaml", "--script", "a", "--story", "b"
    )
    assert "`--seed`: `x` is not a whole number" in refused(
        capsys, "rehearse", "calm.yaml", "--seed", "x"
    )


def test_help_and_a_command_is_help_of_that_command(capsys):
    code, out, _ = run(capsys, "help", "draw")

    assert code == 0
    assert out.startswith("usage: tablework draw ")
    assert "there is no command `nope`" in refused(capsys, "help", "nope")


def test_the_release_can_be_asked_for(capsys):
    code, out, _ = run(capsys, "--version")

    assert code == 0
    assert re.fullmatch(r"tablework \d+\.\d+\.\d+\n", out)


@pytest.mark.parametrize(
    "arguments", [("--help",), ("check", "--help"), ("tell", "calm.yaml"), ("check", "calm.yaml")]
)
def test_a_full_disk_behind_the_output_is_one_line(arguments):
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [*PROGRAM, *arguments],
            env=environment(PYTHONUNBUFFERED=""),
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )

    assert done.returncode == 2
    assert done.stderr == ("tablework: what is printed finds no room: no space left on device\n")


@pytest.mark.parametrize(
    ("arguments", "endings"),
    [
        (("tell", "calm.yaml"), "`.html`, `.md`, or `.pdf`"),
        (("table", "calm.yaml"), "`.csv`, `.html`, or `.md`"),
        (("bench", "calm.yaml"), "`.csv`, `.html`, or `.txt`"),
        (("numbers", "calm.yaml"), "`.html`, `.json`, or `.txt`"),
        (("faults", "calm.yaml"), "`.csv`, `.html`, `.json`, or `.txt`"),
        (("report", "calm.yaml"), "`.html`"),
    ],
)
def test_a_name_that_promises_another_form_is_refused_before_any_work(capsys, arguments, endings):
    assert refused(capsys, *arguments, "--out", "sheet.docx") == (
        f"`.docx` is not written by this command: the name may end in {endings}"
    )
    assert refused(capsys, *arguments, "--out", "nowhere/sheet.html") == (
        "there is no folder `nowhere`: make it first"
    )
    assert not Path("sheet.docx").exists()


def test_text_is_as_narrow_as_the_terminal_says(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "50")

    _, out, _ = run(capsys, "check", "forgetful.yaml")
    _, mistaken, _ = run(capsys, "check", "wrong.yaml")
    _, _, told = run(capsys, "tell", "wrong.yaml")

    assert max(map(len, (out + mistaken + told).splitlines())) <= 50
    monkeypatch.setenv("COLUMNS", "200")
    assert run(capsys, "check", "wrong.yaml") == (2, mistakes_as_ever(), "")


def mistakes_as_ever() -> str:
    source = Source("wrong.yaml", Path("wrong.yaml").read_text(encoding="utf-8"))
    _, mistakes = read_model(source)
    return mistakes_text(source, mistakes) + "\n"


@pytest.mark.parametrize("form", ["json", "sarif", "junit"])
def test_programs_get_a_document_also_of_a_file_that_is_not_there(capsys, form):
    code, out, err = run(capsys, "check", "--as", form, "nowhere.yaml")

    assert code == 2
    assert err == "tablework: there is no file `nowhere.yaml`\n"
    assert "there is no file `nowhere.yaml`" in out
    if form == "json":
        told = json.loads(out)
        assert (told["file"], told["verdict"]) == ("nowhere.yaml", "unreadable")
        Draft202012Validator(
            json.loads(files("behaviour.report").joinpath("check.schema.json").read_text())
        ).validate(told)


# --- Files that cannot be read ------------------------------------------------------------------


def test_a_missing_file_gets_the_nearest_name(capsys):
    assert refused(capsys, "check", "clam.yaml") == (
        "there is no file `clam.yaml`; there is `calm.yaml`"
    )
    assert refused(capsys, "check", "nowhere/x.yaml") == (
        "there is no file `nowhere/x.yaml`; there is no folder `nowhere` either"
    )


def test_a_folder_is_no_file(capsys):
    assert refused(capsys, "check", ".") == (
        "`.` is a folder: name a file in it, such as `calm.yaml`"
    )


@pytest.mark.parametrize("text", ["", " \n\n", "\ufeff"])
def test_an_empty_file_says_how_one_begins(capsys, text):
    Path("empty.yaml").write_text(text, encoding="utf-8")

    assert refused(capsys, "check", "empty.yaml") == (
        "`empty.yaml` is empty: a behaviour file begins with `language: 1`"
    )


def test_a_file_in_another_encoding_says_from_which_line(capsys):
    Path("latin.yaml").write_bytes(CALM.replace("Lantern", "Lat\u00e9rn").encode("latin-1"))
    Path("wide.yaml").write_text(CALM, encoding="utf-16")
    Path("binary.yaml").write_bytes(b"\x7fELF\0\0\0")

    assert refused(capsys, "check", "latin.yaml") == (
        "`latin.yaml` is not UTF-8 text, from line 2 on (perhaps Latin-1): save it as UTF-8"
    )
    assert refused(capsys, "check", "wide.yaml") == "`wide.yaml` is UTF-16 text: save it as UTF-8"
    assert refused(capsys, "check", "binary.yaml") == "`binary.yaml` is not a text file"
    assert refused(capsys, "rehearse", "calm.yaml", "--script", "binary.yaml") == (
        "`binary.yaml` is not a text file"
    )


def test_a_file_that_may_not_be_read_says_how_to_allow_it():
    """As root nothing is forbidden, so the reader is asked as somebody else, in a child."""
    Path("secret.yaml").write_text(CALM, encoding="utf-8")
    Path("secret.yaml").chmod(0)
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        if os.geteuid() == 0:
            os.setuid(65534)
        os.dup2(writing, 2)
        sys.stderr = os.fdopen(2, "w")
        code = main(["check", "secret.yaml"])
        sys.stderr.flush()
        os._exit(code)
    os.close(writing)
    with os.fdopen(reading) as stream:
        told = stream.read()
    _, status = os.waitpid(child, 0)

    assert os.waitstatus_to_exitcode(status) == 2
    assert told == (
        "tablework: `secret.yaml` may not be read by you: `chmod u+r secret.yaml` allows it,"
        " if it is yours\n"
    )


def test_a_file_with_tabs_is_told_where_they_stand(capsys):
    Path("tabs.yaml").write_text(CALM.replace("  lantern:", "\tlantern:"), encoding="utf-8")

    code, out, err = run(capsys, "check", "tabs.yaml")

    assert (code, err) == (2, "")
    assert "tabs.yaml:7:1" in out
    assert "tab" in out


def test_a_byte_order_mark_and_line_ends_of_windows_change_nothing(capsys):
    Path("windows.yaml").write_bytes(b"\xef\xbb\xbf" + CALM.replace("\n", "\r\n").encode())

    _, plain, _ = run(capsys, "check", "--as", "json", "calm.yaml")
    code, windows, _ = run(capsys, "check", "--as", "json", "windows.yaml")

    assert code == 0
    assert json.loads(windows)["fingerprint"] == json.loads(plain)["fingerprint"]


# --- check --------------------------------------------------------------------------------------


def test_a_sound_file_ends_with_0_and_no_cautions(capsys):
    code, out, err = run(capsys, "check", "calm.yaml")

    assert (code, err) == (0, "")
    assert "holds        it can go out\nok  calm.yaml: 0 broken, 0 doubtful" in out
    assert "safety-rated" not in out


def test_a_broken_file_ends_with_1_its_story_and_the_cautions(capsys):
    code, out, _ = run(capsys, "check", "forgetful.yaml")

    assert code == 1
    assert out.startswith("broken    nothing turns under an open lid")
    story = [line.strip() for line in out.splitlines() if re.match(r"   \d+\.\d\d s  ", line)]
    assert story[0].startswith("0.00 s  power on, lid ")
    ends = [at for at, line in enumerate(story) if line.startswith("0.00 s")]
    first = story[: ends[1]] if len(ends) > 1 else story
    assert re.fullmatch(
        r"\d\.\d\d s  `drum is forward and lid is open` has now held for 50 ms"
        r"(, [12]0 ms of it sensing)?; 40 ms are allowed",
        first[-1],
    )
    assert "\n   To change: an interlock `{when: lid is open, go: ...}` in `carousel`" in out
    assert "\nThis prop can hurt somebody" in out
    assert ("not checked yet: " in out) == bool(NOT_CHECKED_YET)


def test_a_file_with_mistakes_ends_with_2_and_tells_each(capsys):
    code, out, err = run(capsys, "check", "wrong.yaml")

    assert (code, err) == (2, "")
    assert "wrong.yaml:10:" in out
    assert "wrong.yaml:11:" in out
    assert out.rstrip().endswith("unreadable  wrong.yaml: 2 mistakes to mend before it is checked")


def test_a_file_that_leaves_something_open_ends_with_3(capsys):
    code, out, _ = run(capsys, "check", "open.yaml")

    assert code == 3
    assert "not decided  open.yaml" in out


@pytest.mark.parametrize(
    ("names", "code"),
    [
        (["calm.yaml", "forgetful.yaml"], 1),
        (["forgetful.yaml", "open.yaml"], 1),
        (["calm.yaml", "open.yaml"], 3),
        (["forgetful.yaml", "wrong.yaml"], 2),
        (["missing.yaml", "forgetful.yaml"], 2),
    ],
)
def test_of_several_files_the_worst_decides(capsys, names, code):
    assert run(capsys, "check", *names)[0] == code


def test_a_missing_file_does_not_keep_the_others_from_being_checked(capsys):
    code, out, err = run(capsys, "check", "missing.yaml", "calm.yaml")

    assert code == 2
    assert err == "tablework: there is no file `missing.yaml`\n"
    assert "ok  calm.yaml" in out


def test_json_is_an_object_for_one_file_and_an_array_for_several(capsys):
    schema = json.loads(files("behaviour.report").joinpath("check.schema.json").read_text())
    validator = Draft202012Validator(schema)

    _, one, _ = run(capsys, "check", "--as", "json", "forgetful.yaml")
    code, several, _ = run(capsys, "check", "--as", "json", "calm.yaml", "wrong.yaml")

    validator.validate(json.loads(one))
    validator.validate(json.loads(several))
    assert json.loads(one)["verdict"] == "broken"
    assert code == 2
    assert [file["verdict"] for file in json.loads(several)] == ["ok", "unreadable"]


# --- draw ---------------------------------------------------------------------------------------


def test_a_drawing_is_printed_as_svg(capfdbinary):
    code = main(["draw", "calm.yaml"])

    assert code == 0
    assert b"<svg" in capfdbinary.readouterr().out


def test_a_drawing_goes_where_it_is_told_in_the_form_of_its_name(capsys):
    for name, begins in (("a.svg", b"<?xml"), ("a.png", b"\x89PNG"), ("a.dot", b"digraph")):
        code, out, _ = run(capsys, "draw", "carousel.yaml", "--out", name)

        assert (code, out) == (0, f"drawn: {name}\n")
        assert Path(name).read_bytes().startswith(begins)


def test_findings_are_laid_on_the_drawing_unless_it_is_unchecked(capsys):
    run(capsys, "draw", "forgetful.yaml", "--out", "checked.dot")
    run(capsys, "draw", "forgetful.yaml", "--out", "plain.dot", "--unchecked")

    assert "broken: nothing turns" in Path("checked.dot").read_text()
    assert "broken:" not in Path("plain.dot").read_text()


def test_a_drawing_that_cannot_be_written_says_why_and_leaves_nothing(capsys, monkeypatch):
    Path("folder").mkdir()

    assert refused(capsys, "draw", "calm.yaml", "--out", "a.gif").startswith(
        "`.gif` is no kind of picture here"
    )
    assert refused(capsys, "draw", "calm.yaml", "--out", "nowhere/a.svg") == (
        "there is no folder `nowhere`: make it first"
    )
    assert refused(capsys, "draw", "calm.yaml", "--as", "svg", "--out", "folder") == (
        "`folder` is a folder: name the file to write in it"
    )
    monkeypatch.setenv("PATH", str(Path("folder").absolute()))
    assert "`apt-get install graphviz`" in refused(capsys, "draw", "calm.yaml", "--out", "a.png")
    assert sorted(path.name for path in Path().iterdir() if path.suffix != ".yaml") == ["folder"]


def test_a_file_with_mistakes_is_not_drawn(capsys):
    code, out, err = run(capsys, "draw", "wrong.yaml", "--out", "a.svg")

    assert (code, out) == (2, "")
    assert "wrong.yaml:10:" in err
    assert not Path("a.svg").exists()


def test_the_timing_of_a_story_is_drawn_by_its_name_or_number(capsys):
    for name, begins in (("t.svg", b"<?xml"), ("t.png", b"\x89PNG"), ("t.pdf", b"%PDF")):
        code, out, _ = run(
            capsys, "draw", "forgetful.yaml", "--timing", "guard-open-moves", "--out", name
        )

        assert (code, out) == (0, f"drawn: {name}\n")
        assert Path(name).read_bytes().startswith(begins)
    assert run(capsys, "draw", "forgetful.yaml", "--timing", "1", "--out", "t.vcd")[0] == 0
    assert "$enddefinitions $end" in Path("t.vcd").read_text()


def test_the_timing_of_a_story_that_was_saved_needs_no_check(capsys):
    Path("told.json").write_text(run(capsys, "check", "forgetful.yaml", "--as", "json")[1])

    code, out, _ = run(capsys, "draw", "forgetful.yaml", "--story", "told.json", "--out", "s.svg")

    assert (code, out) == (0, "drawn: s.svg\n")
    assert refused(capsys, "draw", "calm.yaml", "--story", "told.json").startswith(
        "`told.json` cannot be drawn: it is a story of another prop"
    )


def test_the_timing_of_a_walkthrough_is_drawn_without_a_check(capsys):
    code, out, err = run(
        capsys, "draw", str(SHIPPED), "--timing", "one clean shot", "--out", "w.svg"
    )

    assert (code, out, err) == (0, "drawn: w.svg\n", "")
    assert "one clean shot" in Path("w.svg").read_text(encoding="utf-8")
    code, out, _ = run(capsys, "draw", str(SHIPPED), "--timing", "one clean shot", "--as", "vcd")
    assert code == 0
    assert "$enddefinitions $end" in out


def test_a_walkthrough_that_fails_is_drawn_to_the_step_that_did(capsys):
    late = SHIPPED.read_text(encoding="utf-8").replace(
        "see valve is open within 200 ms", "see valve is open within 20 ms"
    )
    Path("late.yaml").write_text(late, encoding="utf-8")

    code, _, err = run(capsys, "draw", "late.yaml", "--timing", "one clean shot", "--out", "w.svg")

    step = late.splitlines().index("    - see valve is open within 20 ms") + 1
    assert code == 0
    assert err == f"tablework: the walkthrough `one clean shot` fails at line {step}\n"
    assert "it did not come true in time" in Path("w.svg").read_text(encoding="utf-8")


def test_a_story_that_is_not_there_is_told_with_those_that_are(capsys):
    assert refused(capsys, "draw", "forgetful.yaml", "--timing", "no").startswith(
        "there is no story `no`: there are 1 `"
    )
    assert refused(capsys, "draw", "calm.yaml", "--timing", "1") == (
        "there is no story to draw: nothing was found that has one"
    )
    assert refused(capsys, "draw", "calm.yaml", "--as", "vcd").startswith(
        "a waveform is of a run: say which with `--timing`"
    )
    assert refused(capsys, "draw", "calm.yaml", "--timing", "1", "--as", "dot").startswith(
        "the timing of a run is no graph"
    )


def test_the_wiring_is_drawn(capsys):
    code, out, _ = run(capsys, "draw", "carousel.yaml", "--wiring", "--out", "w.svg")

    assert (code, out) == (0, "drawn: w.svg\n")
    assert "Without a pin in the file: lid" in Path("w.svg").read_text()
    assert refused(capsys, "draw", "calm.yaml", "--wiring", "--as", "dot").startswith(
        "the wiring is no run and no graph"
    )


def test_a_check_draws_the_states_and_what_it_tells(capsys):
    code, out, _ = run(capsys, "check", "forgetful.yaml", "--picture", "wall")

    drawn = [line.removeprefix("drawn: ") for line in out.splitlines() if line[:6] == "drawn:"]
    assert code == 1
    assert "wall/forgetful.svg" in drawn
    assert any("guard-open-moves" in name for name in drawn)
    assert sorted(drawn) == sorted(str(path) for path in Path("wall").iterdir())


# --- emit ---------------------------------------------------------------------------------------


def test_emit_writes_a_folder_and_says_what_became_of_each_file(capsys):
    asked = ("emit", "carousel.yaml", "--into", "out", "--controller", "host")

    code, out, _ = run(capsys, *asked)
    again = run(capsys, *asked)

    assert code == 0
    assert "written    out/carousel/carousel.c\n" in out
    assert again[1] == out.replace("written    ", "unchanged  ")
    assert "- holds: " not in Path("out/carousel/carousel.md").read_text()
    assert "- nothing found: " in Path("out/carousel/carousel.md").read_text()


def test_emit_of_a_broken_file_says_so_beside_and_in_the_sheet(capsys):
    code, _, err = run(capsys, "emit", "forgetful.yaml", "--into", "out", "--controller", "host")

    assert code == 0
    assert err == (
        "tablework: `forgetful.yaml` is broken, and so is this firmware:"
        " `tablework check forgetful.yaml` tells how\n"
    )
    assert "- broken: nothing turns under an open lid\n" in (
        Path("out/forgetful/forgetful.md").read_text()
    )


def test_emit_keeps_a_generated_file_that_was_edited_and_ends_with_1(capsys):
    asked = ("emit", "calm.yaml", "--into", "out", "--controller", "host", "--unchecked")
    run(capsys, *asked)
    edited = Path("out/calm/calm.c")
    edited.write_text(edited.read_text() + "/* mine */\n")

    code, out, err = run(capsys, *asked)

    assert code == 1
    assert "edited     out/calm/calm.c" in out
    assert err.startswith("tablework: `calm.c` was edited by hand and is kept")
    assert edited.read_text().endswith("/* mine */\n")


def test_emit_for_a_board_ends_with_what_the_firmware_takes_of_it(capsys):
    spec = str(ROOT / "specs" / "confetti-carousel.yaml")
    asked = ("emit", spec, "--into", "out", "--controller", "uno", "--unchecked")

    code, out, err = run(capsys, *asked)

    assert (code, err) == (0, "")
    assert "written    out/confetti_carousel/confetti_carousel.ino\n" in out
    whole, alone = out.splitlines()[-2:]
    assert re.fullmatch(
        r"built for `uno`: [\d,]+ of 32,256 bytes of flash and \d+ of 2,048 of memory, with core, "
        "board and trace",
        whole,
    )
    assert re.fullmatch(r"   of which the behaviour takes [\d,]+ and \d+", alone)


def test_emit_tells_the_coder_what_is_his_and_builds_nothing_before_that(capsys):
    asked = ("emit", "calm.yaml", "--into", "out", "--controller", "uno", "--unchecked")

    code, out, err = run(capsys, *asked)

    assert code == 0
    assert "built for" not in out
    assert "`calm_board.c` does not drive " in err
    assert ", for it has no pin in the file: it is not built until you have written that" in err


def test_emit_refuses_what_cannot_become_firmware(capsys):
    def asked(name: str, into: str = "out", controller: str = "host") -> str:
        arguments = ("emit", name, "--into", into, "--controller", controller, "--unchecked")
        return refused(capsys, *arguments)

    assert "there is no controller `unix`" in asked("calm.yaml", controller="unix")
    assert "there is no controller `unix`" in refused(
        capsys, "emit", "calm.yaml", "--into", "out", "--controller", "unix"
    )
    assert asked("open.yaml").startswith("`open.yaml` cannot become firmware: `")
    assert asked("calm.yaml", into="calm.yaml") == (
        "`calm.yaml` cannot be written to: not a directory"
    )
    assert not Path("out").exists()


def test_emit_for_a_raspberry_pi_writes_a_module_and_says_what_is_still_to_be_set(capsys):
    code, out, err = run(
        capsys, "emit", "calm.yaml", "--into", "out", "--controller", "pi", "--unchecked"
    )

    assert code == 0
    assert out == "written    out/calm/calm.py\nwritten    out/calm/calm.md\n"
    assert re.fullmatch(
        r"tablework: still to be set at the top of the module, before it starts: [A-Z_, ]+\n", err
    )


def test_a_module_goes_into_the_folder_of_the_c_without_a_word_of_its_settings(capsys):
    asked = ("emit", "calm.yaml", "--into", "out", "--unchecked", "--controller")
    assert run(capsys, *asked, "host")[0] == 0
    settings = Path("out/calm/calm_settings.h")
    settings.write_text(settings.read_text().replace("20u", "30u"))

    code, out, _ = run(capsys, *asked, "pi")

    assert code == 0
    assert out.splitlines()[0] == "written    out/calm/calm.py"
    assert "30u" in settings.read_text()


# --- match-c ------------------------------------------------------------------------------------


def test_match_c_says_that_the_firmware_is_alike_and_how_far_it_went(capsys):
    code, out, err = run(capsys, "match-c", "calm.yaml")

    assert (code, err) == (0, "")
    first, *table = out.splitlines()
    assert re.fullmatch(
        r"alike  calm.yaml: \d+ runs of [\d,]+ loops in all, built by gcc, under the sanitizers",
        first,
    )
    assert "   transitions               2 of 2" in table
    assert "   from each state           2 of 2" in table


def test_match_c_on_a_raspberry_pi_compares_the_python_at_mock_pins(capsys):
    code, out, err = run(capsys, "match-c", "calm.yaml", "--on", "pi")

    assert (code, err) == (0, "")
    first, *table = out.splitlines()
    assert re.fullmatch(
        r"alike  calm.yaml: \d+ runs of [\d,]+ loops in all, in Python, at the mock pins of "
        "gpiozero",
        first,
    )
    assert "   transitions               2 of 2" in table


def test_match_c_on_a_raspberry_pi_says_which_package_it_lacks(capsys, monkeypatch):
    monkeypatch.setattr("codegen.conform.on_pi.NEEDED", ("gpiozero_of_nobody",))
    assert refused(capsys, "match-c", "calm.yaml", "--on", "pi") == (
        "`gpiozero_of_nobody` is not installed here: `pip install gpiozero_of_nobody` to compare"
    )


def test_match_c_gives_the_same_as_json(capsys):
    code, out, err = run(capsys, "match-c", "calm.yaml", "--as", "json", "--no-sanitizers")

    told = json.loads(out)
    assert (code, err) == (0, "")
    assert (told["format"], told["file"], told["verdict"]) == (1, "calm.yaml", "alike")
    assert told["sanitized"] is False
    assert told["search_complete"] is True
    transitions = {row["name"]: row for row in told["through"]}["transitions"]
    assert transitions == {
        "name": "transitions",
        "met": 2,
        "of": 2,
        "wanting": [],
        "can_never_be": [],
    }
    assert told["loops"] >= 16_000


def test_match_c_refuses_without_a_compiler_and_without_what_is_unknown(capsys):
    assert refused(capsys, "match-c", "calm.yaml", "--compiler", "no-cc") == (
        "there is no C compiler `no-cc` here: install one to compare"
    )
    assert refused(capsys, "match-c", "open.yaml").startswith(
        "`open.yaml` cannot become firmware: `"
    )


# --- explain ------------------------------------------------------------------------------------


def test_explain_prints_the_page_of_a_finding(capsys):
    code, out, _ = run(capsys, "explain", "dead-end")

    assert code == 0
    assert out.startswith("# dead-end\n")


def test_explain_without_a_name_lists_them(capsys):
    code, out, _ = run(capsys, "explain")

    assert code == 0
    assert (
        out.splitlines()[1] == "dead-end                broken    a state that no run ever leaves"
    )


def test_explain_knows_what_is_near(capsys):
    assert refused(capsys, "explain", "deadend") == (
        "there is no finding `deadend`: there is `dead-end`"
    )


# --- rehearse -----------------------------------------------------------------------------------


@pytest.fixture
def told(capsys):
    """A story of the forgetful carousel, as `check` prints it."""
    _, out, _ = run(capsys, "check", "--as", "json", "forgetful.yaml")
    Path("told.json").write_text(out, encoding="utf-8")
    return json.loads(out)


def test_every_story_of_a_check_replays(capsys, told):
    code, out, _ = run(capsys, "rehearse", "forgetful.yaml", "--story", "told.json")

    assert code == 0
    stories = [found for found in told["findings"] if "story" in found]
    assert len(out.splitlines()) == len(stories)
    told_again = (
        "as told  nothing turns under an open lid: `drum is forward and lid is open` has now"
    )
    assert told_again in out


def test_a_story_that_was_changed_says_where_it_differs(capsys, told):
    step = told["findings"][0]["story"]["steps"][-1]
    step["outputs"]["lamp"] = "white"
    Path("told.json").write_text(json.dumps(told), encoding="utf-8")

    code, out, _ = run(capsys, "rehearse", "forgetful.yaml", "--story", "told.json")

    assert code == 1
    assert "the story says `lamp` white, and it is amber" in out


def test_a_story_that_claims_another_breach_than_it_shows_differs(capsys, told):
    told["findings"][0] |= {"name": "out-of-range"}
    del told["findings"][0]["rule"]
    Path("told.json").write_text(json.dumps(told), encoding="utf-8")

    code, out, _ = run(capsys, "rehearse", "forgetful.yaml", "--story", "told.json")

    assert code == 1
    assert "differs  out-of-range: it does not end in the breach that it claims\n" in out


def test_a_story_that_stops_before_its_breach_differs(capsys, told):
    story = told["findings"][0]["story"]
    story["steps"].pop()
    story["breach_loop"] -= 1
    Path("told.json").write_text(json.dumps(told), encoding="utf-8")

    code, out, _ = run(capsys, "rehearse", "forgetful.yaml", "--story", "told.json")

    assert code == 1
    assert (
        "differs  nothing turns under an open lid: it does not end in the breach that it claims\n"
        in out
    )


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("{", "it is not JSON"),
        ("[]", "there is no story in it"),
        ('{"steps": [{}]}', "a step of the story has no `loop`"),
        ('{"steps": [{"loop": 3}]}', "do not go from loop 0 upwards"),
        ('{"steps": [{"loop": 0}]}', "a step of the story has no `raw`"),
        ('{"steps": [{"loop": 0}], "breach_loop": "x"}', "`breach_loop` is not the number"),
        ('{"steps": [{"loop": 0, "raw": {}, "mechanism": {}}]}', "a story of another prop"),
    ],
)
def test_a_file_without_a_story_says_what_is_wrong(capsys, text, message):
    Path("told.json").write_text(text, encoding="utf-8")

    assert message in refused(capsys, "rehearse", "calm.yaml", "--story", "told.json")


def test_a_story_of_another_file_is_told_to_be_one(capsys, told):
    other = FORGETFUL.text.replace("lamp: amber", "lamp: white")
    Path("other.yaml").write_text(other, encoding="utf-8")

    code, out, err = run(capsys, "rehearse", "other.yaml", "--story", "told.json")

    assert code == 1
    assert "differs  " in out
    assert re.fullmatch(
        f"tablework: the stories were told of {told['fingerprint']},"
        r" and `other\.yaml` is [0-9a-f]{4}-[0-9a-f]{4} now\n",
        err,
    )


def test_a_script_without_a_step_is_no_success(capsys):
    Path("script.txt").write_text("\n", encoding="utf-8")

    assert refused(capsys, "rehearse", "calm.yaml", "--script", "script.txt") == (
        "there is no step in `script.txt`, such as `press BUTTON`"
    )


def test_a_script_that_is_piped_in_and_no_text_is_one_line():
    done = subprocess.run(
        [*PROGRAM, "rehearse", "calm.yaml", "--script", "-"],
        env=environment(PYTHONIOENCODING="utf-8"),
        input=b"pr\xe4ss tap\n",
        capture_output=True,
        check=False,
    )

    assert (done.returncode, done.stdout) == (2, b"")
    assert done.stderr == b"tablework: what was to be read here is not UTF-8 text\n"


# --- The world outside --------------------------------------------------------------------------


def hear_ctrl_c():
    """Let a child stop at Ctrl-C: a shell that runs the tests in the background ignores it."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def test_ctrl_c_stops_a_long_check_with_one_line():
    many = ["carousel.yaml"] * 2000
    child = subprocess.Popen(
        [*PROGRAM, "check", *many],
        env=environment(),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        preexec_fn=hear_ctrl_c,  # noqa: PLW1509
    )
    time.sleep(1.5)
    child.send_signal(signal.SIGINT)
    _, err = child.communicate(timeout=20)

    assert child.returncode == 130
    assert err == b"tablework: stopped by Ctrl-C before it was done\n"


@pytest.mark.parametrize("seconds", [0.7, 1.5])
def test_ctrl_c_stops_what_goes_on_side_by_side_with_one_line_too(seconds):
    """The whole group hears it, as from a terminal; at first the others are still beginning."""
    child = subprocess.Popen(
        [*PROGRAM, "faults", str(SHIPPED), "--jobs", "2"],
        env=environment(),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        start_new_session=True,
        preexec_fn=hear_ctrl_c,  # noqa: PLW1509
    )
    time.sleep(seconds)
    os.killpg(child.pid, signal.SIGINT)
    _, err = child.communicate(timeout=20)

    assert child.returncode == 130
    assert err == b"tablework: stopped by Ctrl-C before it was done\n"


def test_a_reader_that_goes_away_is_no_matter_for_a_message():
    child = subprocess.Popen(
        [*PROGRAM, "check", *["calm.yaml"] * 200],
        env=environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert child.stdout is not None
    child.stdout.readline()
    child.stdout.close()
    _, err = child.communicate(timeout=60)

    assert (child.returncode, err) == (141, b"")


def test_a_fault_of_our_own_is_one_line_and_a_file(capsys, monkeypatch, tmp_path):
    def nothing_there(package: str) -> Path:
        raise RuntimeError(f"no {package}")

    monkeypatch.setattr("importlib.resources.files", nothing_there)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))

    code, out, err = run(capsys, "explain", "dead-end")

    report = Path(err.split()[-1])
    assert (code, out, err.count("\n")) == (70, "", 1)
    assert err.startswith("tablework: this is a fault of tablework itself, not of your file")
    assert "RuntimeError: no behaviour.explanations" in report.read_text()


@pytest.mark.parametrize(("more", "is_coloured"), [({}, True), ({"NO_COLOR": "1"}, False)])
def test_colour_is_for_terminals_that_want_it(more, is_coloured):
    plain = {key: value for key, value in environment().items() if key != "NO_COLOR"}
    ours, theirs = pty.openpty()
    child = subprocess.Popen(
        [*PROGRAM, "check", "calm.yaml"],
        env=plain | {"TERM": "xterm"} | more,
        stdout=theirs,
        stderr=subprocess.DEVNULL,
    )
    child.wait(timeout=60)
    os.close(theirs)
    shown = os.read(ours, 65536)
    os.close(ours)

    assert b"holds" in shown
    assert (b"\x1b[" in shown) == is_coloured


def test_a_watched_file_is_checked_again_when_it_is_written(tmp_path: Path) -> None:
    spec = tmp_path / "prop.yaml"
    spec.write_text("language: 1\n", encoding="utf-8")
    command = [*PROGRAM, "check", str(spec), "--watch"]
    with subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        preexec_fn=hear_ctrl_c,  # noqa: PLW1509
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        try:
            assert "watching" in process.stderr.readline()
            spec.write_text("language: 1\nprop: Once more\n", encoding="utf-8")
            assert "watching" in process.stderr.readline()
        finally:
            process.send_signal(signal.SIGINT)
        told = process.stdout.read()
    assert told.count("unreadable") == 2
    assert process.returncode == 130
