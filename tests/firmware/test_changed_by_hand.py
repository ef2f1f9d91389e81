"""Lockstep sees each of a set of small changes to the C: it is no comparison that cannot fail."""

from pathlib import Path

import pytest

from behaviour.model import Model
from codegen.conform.build import build, write_project
from codegen.conform.lockstep import first_mismatch
from codegen.conform.timeline import Timeline
from codegen.conform.walk import walk
from tests.firmware.props import PROPS, spec

CAROUSEL = "confetti-carousel"

CHANGES = {
    "a time lasts a loop longer": (CAROUSEL, "loops >= needed", "loops > needed"),
    "times are rounded down": ("timing", "!= 0u) ? 1u : 0u", "!= 0u) ? 0u : 0u"),
    "a filter never starts again": (
        CAROUSEL,
        "(raw == prop->trigger_raw)\n            ? longer(prop->trigger_raw_for, loops) : 0u",
        "longer(prop->trigger_raw_for, loops)",
    ),
    "a steady value counts on from before": (CAROUSEL, "prop->lid_for = 0u;\n    }", "}"),
    "an edge stays": (CAROUSEL, "prop->mark_changed = false;\n    if", "if"),
    "a guard is believed at once": (CAROUSEL, "&& !lasted(0u", "&& lasted(0u"),
    "an interlock forgets that it was taken": (
        "guarded",
        "bool taken = true",
        "bool taken = false",
    ),
    "a state keeps the time of the one before": (
        CAROUSEL,
        "    prop->carousel_for = 0u;\n}",
        "}",
    ),
    "an output is left on": (
        CAROUSEL,
        "    prop->drum = CONFETTI_CAROUSEL_DRUM_STOPPED;\n    prop->valve",
        "    prop->valve",
    ),
    "a counter goes past its bound": ("timing", "prop->n + 3", "prop->n + 4"),
    "a remainder of time is lost": (
        CAROUSEL,
        "prop->last_ms += loops * CONFETTI_CAROUSEL_LOOP_MS",
        "prop->last_ms = now_ms",
    ),
    "regions see each other half done": (
        "watching",
        "    if (!interlocks_of_second(prop, &seen)) {",
        "    seen = see(prop);\n    if (!interlocks_of_second(prop, &seen)) {",
    ),
    "an outer state starts again with an inner one": (
        "nested",
        "if (!in_show_scene(prop->show)) {",
        "if (prop->upsets == 0u) {",
    ),
    "random times have other bounds": ("nested", "SCENE_AFTER_AT_MOST", "DARK_AFTER_AT_MOST"),
    "an interlock is taken although its target is active": (
        "guarded",
        "prop->gate != GUARDED_GATE_REST",
        "prop->upsets == 0u",
    ),
    "a lockout is left": (
        "nested",
        "!in_show_locked(prop->show)",
        "(!in_show_locked(prop->show) || true)",
    ),
}


@pytest.fixture(scope="module")
def walks() -> dict[str, tuple[Model, tuple[Timeline, ...]]]:
    models = {CAROUSEL: spec(CAROUSEL)} | {
        name: PROPS[name] for name in ("timing", "watching", "nested", "guarded")
    }
    return {
        name: (model, walk(model, 3, 12_000, 12_000).timelines) for name, model in models.items()
    }


@pytest.mark.parametrize("change", CHANGES)
def test_a_changed_firmware_is_caught(
    change: str, walks: dict[str, tuple[Model, tuple[Timeline, ...]]], tmp_path: Path
) -> None:
    name, old, new = CHANGES[change]
    model, timelines = walks[name]
    folder = write_project(model, f"{name}.yaml", tmp_path)
    source = folder / f"{folder.name}.c"
    text = source.read_text(encoding="utf-8")
    assert old in text
    changed = text.replace(old, new).replace(
        "const struct watching_seen seen =", "struct watching_seen seen ="
    )
    source.write_text(changed, encoding="utf-8")
    mismatch = first_mismatch(model, build(folder), timelines)
    assert mismatch is not None
    assert mismatch.firmware != mismatch.definition


def test_the_difference_is_said_in_the_words_of_the_file(
    walks: dict[str, tuple[Model, tuple[Timeline, ...]]], tmp_path: Path
) -> None:
    model, timelines = walks[CAROUSEL]
    folder = write_project(model, f"{CAROUSEL}.yaml", tmp_path)
    source = folder / f"{folder.name}.c"
    text = source.read_text(encoding="utf-8")
    source.write_text(text.replace("LAMP_GREEN;", "LAMP_RED;"), encoding="utf-8")
    mismatch = first_mismatch(model, build(folder), timelines)
    assert mismatch is not None
    assert str(mismatch).endswith("output lamp is red in the firmware and green by the definition")
