"""Every file for the host compiles without a word, by every compiler, as C99 and as C++11."""

from pathlib import Path

import pytest

from codegen.emit import emit
from codegen.keep import write_files
from tests.firmware.compilers import COMPILERS, complaints, run
from tests.firmware.props import PROPS, demo_names, models

WIDTH = 80


@pytest.fixture(scope="module")
def folders(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Emit each prop once and give its folder."""
    found = {}
    for name, model in models().items():
        directory = tmp_path_factory.mktemp(name)
        write_files(directory, emit(model, f"{name}.yaml", "host"))
        (found[name],) = directory.iterdir()
    return found


@pytest.mark.parametrize("compiler", COMPILERS)
@pytest.mark.parametrize("name", models())
def test_every_file_compiles_without_a_warning(
    name: str, compiler: str, folders: dict[str, Path]
) -> None:
    assert complaints(compiler, folders[name]) == ""


def test_the_behaviour_calls_nothing_but_the_board(folders: dict[str, Path]) -> None:
    for name, folder in folders.items():
        prefix = folder.name
        assert run(["gcc", "-O1", "-ffreestanding", "-c", f"{prefix}.c"], folder).returncode == 0
        symbols = run(["nm", f"{prefix}.o"], folder).stdout.splitlines()
        wanted = {line.split()[-1] for line in symbols if " U " in line}
        offered = {line.split()[-1] for line in symbols if " T " in line}
        assert wanted, name
        assert all(symbol.startswith(f"{prefix}_board_") for symbol in wanted), wanted
        assert f"{prefix}_step" in offered
        assert all(symbol.startswith(f"{prefix}_") for symbol in offered), offered
        assert not [line for line in symbols if line.split()[-2] in {"B", "D", "b", "d", "C"}], name


@pytest.mark.parametrize("name", demo_names())
def test_no_line_is_longer_than_eighty_columns_but_for_the_length_of_one_name(
    name: str, folders: dict[str, Path]
) -> None:
    for path in folders[name].glob("*.[ch]"):
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            one_name = max(map(len, line.replace("(", " ").replace(")", " ").split()), default=0)
            assert len(line) <= WIDTH or one_name > WIDTH // 2, f"{path.name}:{number}: {line}"


def test_files_of_two_emits_refuse_to_be_built_together(tmp_path: Path) -> None:
    old = emit(PROPS["nested"], "same.yaml", "host")
    new = {file.path: file for file in emit(PROPS["timing"], "same.yaml", "host")}
    for name in ("same.h", "same.c", "same_settings.h", "same_board.h", "same_trace.c"):
        mixed = [new[file.path] if file.path == f"same/{name}" else file for file in old]
        write_files(tmp_path / name, mixed)
        said = complaints("gcc", tmp_path / name / "same")
        assert "these files are of different emits: emit into this folder again" in said, name
    write_files(tmp_path / "old", old)
    assert complaints("gcc", tmp_path / "old" / "same") == ""


def test_a_game_on_the_computer_shows_what_the_outputs_do(folders: dict[str, Path]) -> None:
    folder = folders["confetti-carousel"]
    sources = [path.name for path in folder.glob("*.c")]
    assert run(["gcc", "-std=c99", *sources, "-o", "played"], folder).returncode == 0
    game = "wait 1000\ntrigger pressed\nwait 100\nfly away\nmark made\nwait 1000\n"
    done = run(["./played"], folder, game)
    assert done.returncode == 0
    assert done.stdout.splitlines() == [
        "lamp white",
        "lamp green",
        "drum forward",
        "lamp amber",
        "drum stopped",
        "valve open",
        "valve shut",
        "lamp green",
    ]
    told = done.stderr.splitlines()
    assert told[0].startswith("0 confetti_carousel ")
    assert "not understood: fly away" in told
    assert "700 carousel idle" in told
    assert "1030 carousel turn" in told
    assert "1210 carousel shot@100ms" in told
    assert "1710 loaded 5" in told
