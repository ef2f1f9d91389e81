"""Walkthroughs run as tests, and what is rehearsed can be kept as one."""

import io
import re
from pathlib import Path

import pytest

from behaviour.cli import main
from behaviour.language.script import read_script
from behaviour.model import Model, WalkStep
from behaviour.rehearse.noting import noted, walkthrough_text
from behaviour.rehearse.stage import LATEST, Timing
from behaviour.rehearse.walking import Performance, perform, perform_steps
from behaviour.source import Source
from tests.reading import SPECS, model_in, source_of

CAROUSEL = source_of("specs/confetti-carousel.yaml")
MODEL = model_in(CAROUSEL)


def steps_of(spec: Source, text: str) -> tuple[WalkStep, ...]:
    steps, mistakes = read_script(spec, Source("script", text))
    assert mistakes == ()
    return steps


def played(text: str, timing: Timing = LATEST) -> Performance:
    return perform_steps(MODEL, steps_of(CAROUSEL, text), timing)


def why(text: str) -> str:
    failure = played(text).failure
    return "" if failure is None else failure.why


def outputs_at(performance: Performance, output: str) -> list[str]:
    place = MODEL.output_index[output]
    return [moment.view.real[place] for moment in performance.moments]


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_every_walkthrough_of_the_demo_props_is_as_told(path: Path) -> None:
    model = model_in(source_of(f"specs/{path.name}"))

    assert [perform(model, walk).failure for walk in model.walkthroughs] == [None] * len(
        model.walkthroughs
    )


def test_a_press_after_a_pause_falls_into_the_loop_in_which_the_pause_ends():
    performance = played("pause 800 ms\npress trigger\nsee carousel in idle")

    raw = [moment.view.stimulus.raw[1] for moment in performance.moments]
    assert (raw.index("pressed"), len(raw)) == (80, 81)


def test_two_changes_without_a_pause_fall_into_one_loop():
    performance = played("pause 100 ms\npress trigger\nlid becomes open\npause 10 ms")

    raws = [moment.view.stimulus.raw[:2] for moment in performance.moments]
    assert (raws[9], raws[10]) == (("closed", "released"), ("open", "pressed"))


def test_within_counts_from_the_loop_of_the_change():
    # The lid is steadily open in the second loop in which it reads so (1 loop of 10 ms before).
    moves = "pause 800 ms\nlid becomes open\nsee carousel in lid_open"

    assert why(f"{moves} within 10 ms") == ""
    assert why(moves) == "it is not true: `carousel` is in `idle`"


def test_a_movement_that_nobody_asks_for_ends_at_its_latest_moment():
    # After power-up with `begins: any`, `between` ends at the latest 400 ms after it began.
    turns = "pause 800 ms\npress trigger\nsee drum is forward within 50 ms\n"

    assert why(turns + "see mark is made within 390 ms") == (
        "it did not come true in time: `mark` is `clear`"
    )
    assert why(turns + "see mark is made within 400 ms") == ""


def test_a_movement_that_is_asked_for_ends_then_if_it_may():
    turns = "pause 800 ms\npress trigger\nsee drum is forward within 50 ms\n"

    assert why(turns + "pause 100 ms\nmark becomes made\nsee carousel in shot") == ""
    assert why("pause 800 ms\nmark becomes made") == (
        "`mark` cannot become `made` here: `drum_position` is in `between`, and no movement that "
        "may end now leads there"
    )


def test_a_change_that_is_none_fails():
    assert why("press trigger\npause 1 s\npress trigger") == "`trigger` is `pressed` already"


def test_a_restart_begins_anew_while_the_mechanism_stands_where_it_was():
    performance = played(
        "pause 800 ms\npress trigger\nsee valve is open within 2 s\nrestart\nsee valve is shut"
    )

    assert performance.failure is None
    assert outputs_at(performance, "valve")[-3:] == ["open", "shut", "shut"]
    assert performance.moments[-1].view.stimulus.mechanism == (1,)
    assert MODEL.regions[0].states[performance.moments[-1].view.state.regions[0].leaf].name == (
        "lid_open"
    )


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
@pytest.mark.parametrize("share", [1.0, 0.5, None], ids=["late", "middle", "random"])
def test_what_was_rehearsed_and_kept_plays_as_it_was_wherever_steps_can_say_it(
    path: Path, share: float | None
) -> None:
    spec = source_of(f"specs/{path.name}")
    model = model_in(spec)
    for walk in model.walkthroughs:
        first = perform_steps(model, walk.steps, Timing(share, seed=4))
        note = noted(model, first.moments)
        again = perform_steps(model, steps_of(spec, "\n".join(note.steps)), LATEST)

        stimuli = [[moment.view.stimulus for moment in each.moments] for each in (first, again)]
        assert bool(note.untold) or (again.failure, stimuli[1]) == (None, stimuli[0])


def test_a_rehearsal_is_kept_in_the_words_of_the_language():
    performance = played(
        "pause 800 ms\npress trigger\nsee drum is forward within 50 ms\n"
        "pause 50 ms\nmark becomes made\npause 50 ms"
    )

    assert walkthrough_text("kept", noted(MODEL, performance.moments)) == (
        "walkthroughs:\n"
        "  kept:\n"
        "    - see carousel in idle within 700 ms\n"
        "    - pause 100 ms\n"
        "    - press trigger\n"
        "    - see carousel in turn within 20 ms\n"
        "    - pause 50 ms\n"
        "    - mark becomes made\n"
        "    - see carousel in shot\n"
        "    - pause 50 ms"
    )


def test_a_random_time_that_was_not_the_longest_is_said_to_be_untold():
    spec = source_of("specs/fortune-teller.yaml")
    model: Model = model_in(spec)
    walk = next(each for each in model.walkthroughs if each.name == "one prophecy")

    note = noted(model, perform_steps(model, walk.steps, Timing(0.0)).moments)

    assert note.untold[0] == "at 1.53 s a time was drawn that is not the longest"


# --- The command --------------------------------------------------------------------------------


def test_walkthroughs_end_with_0_and_say_how_long_each_was(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["rehearse", "specs/confetti-carousel.yaml", "--walkthroughs"]) == 0
    assert capsys.readouterr().out == "as told  one clean shot: 1.43 s\n"


def test_a_failed_walkthrough_ends_with_1_and_marks_its_place(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = CAROUSEL.text.replace("see valve is open within 200 ms", "see valve is open")
    spec = tmp_path / "prop.yaml"
    spec.write_text(text, encoding="utf-8")

    code = main(["rehearse", str(spec), "--walkthroughs"])

    line = 1 + text.splitlines().index("    - see valve is open")
    lines = capsys.readouterr().out.splitlines()
    assert code == 1
    assert lines[:4] == [
        f"failed   one clean shot  {spec}:{line}:7",
        "   at 0.83 s: it is not true: `valve` is `shut`",
        f"    {line} |     - see valve is open",
        "        |       ^^^^^^^^^^^^^^^^^",
    ]
    assert lines[4].startswith("   0.00 s  power on, lid closed (not counted yet)")


def test_a_script_is_played_without_a_terminal(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    script = "# the lid is opened early\n- pause 800 ms\n\nlid becomes open  # at once\npause 50 ms"
    monkeypatch.setattr("sys.stdin", io.StringIO(script))

    assert main(["rehearse", "specs/confetti-carousel.yaml"]) == 0
    last = capsys.readouterr().out.splitlines()[-1]
    assert re.split(" {2,}", last.strip()) == [
        "0.81 s",
        "lid open (really since 0.80)",
        "carousel: idle -> lid_open",
        "lamp white",
    ]


def test_a_mistake_in_a_script_is_told_with_its_place(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    script = tmp_path / "script.txt"
    script.write_text("pause 1 s\npress tigger\n", encoding="utf-8")

    code = main(["rehearse", "specs/confetti-carousel.yaml", "--script", str(script)])

    assert code == 2
    assert capsys.readouterr().err.splitlines()[:2] == [
        f"mistake  {script}:2:7",
        "   `tigger` is not the name of an input",
    ]


def test_a_kept_walkthrough_is_never_written_over_another_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    script, kept = tmp_path / "script.txt", tmp_path / "kept.yaml"
    script.write_text("pause 1 s\n", encoding="utf-8")
    asked = ["rehearse", "specs/confetti-carousel.yaml", "--script", str(script)]

    assert main([*asked, "--save", str(kept)]) == 0
    assert kept.read_text(encoding="utf-8") == (
        "walkthroughs:\n  as rehearsed:\n    - see carousel in idle within 700 ms\n"
        "    - pause 300 ms\n"
    )
    assert main([*asked, "--save", str(kept)]) == 2
    assert capsys.readouterr().err == (
        f"tablework: `{kept}` is there already, and is not written over: choose another name\n"
    )
