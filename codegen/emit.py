"""The files of a firmware project as text; what is done with them is not known here."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from pathlib import PurePath

from behaviour.controllers import controller as look_up
from behaviour.model import Model
from codegen.arduino.board import arduino_board
from codegen.arduino.sketch import sketch
from codegen.board import board_header, host_board
from codegen.header import header
from codegen.lower import lower
from codegen.lower_steps import step_generators
from codegen.main import host_main
from codegen.module import Module
from codegen.names import identifier_from
from codegen.python.source import python_module
from codegen.settings import settings
from codegen.sheet import sheet
from codegen.source import source
from codegen.steps import steps_header, steps_source
from codegen.trace import trace


class Whose(Enum):
    """Who writes a file after the first time."""

    GENERATED = "generated"
    YOURS = "yours"


@dataclass(frozen=True, slots=True)
class EmittedFile:
    """A file of the project. `path` is in the folder that all go into, with `/` between."""

    path: str
    text: str
    whose: Whose


def emit(
    model: Model, source_name: str, controller: str, verdicts: Sequence[str] = ()
) -> tuple[EmittedFile, ...]:
    """Give the files of the firmware; the same model, name and verdicts give the same bytes.

    `source_name` is the behaviour file; only its last part is used. `verdicts` are lines on what
    was checked. Raises CannotEmitError where the model cannot become code for the controller,
    UnknownControllerError where there is no such controller.
    """
    if look_up(controller).core == "pi":
        return _for_pi(model, PurePath(source_name).name, verdicts)
    file_name = PurePath(source_name).name
    prefix = firmware_name(model, file_name)
    module = lower(model, file_name, prefix, controller)
    generated = {
        f"{prefix}.h": header(module),
        f"{prefix}.c": source(module),
        f"{prefix}_settings.h": settings(module),
        f"{prefix}_board.h": board_header(module),
        f"{prefix}_trace.c": trace(module),
        f"{prefix}.md": sheet(model, file_name, verdicts, look_up(controller)),
    }
    for made in step_generators(model, prefix):
        generated[f"{made.file}.h"] = steps_header(module, made)
        generated[f"{made.file}.c"] = steps_source(module, made)
    yours = _yours(module)
    return tuple(
        EmittedFile(f"{prefix}/{name}", text, whose)
        for files, whose in ((generated, Whose.GENERATED), (yours, Whose.YOURS))
        for name, text in files.items()
    )


def _yours(module: Module) -> dict[str, str]:
    """Give the files that are the user's from then on: the board and the loop."""
    board_file = f"{module.prefix}_board.c"
    if module.board is None:
        return {board_file: host_board(module), "main.c": host_main(module)}
    return {
        board_file: arduino_board(module, module.board),
        f"{module.prefix}.ino": sketch(module, module.board),
    }


def _for_pi(model: Model, file_name: str, verdicts: Sequence[str]) -> tuple[EmittedFile, ...]:
    prefix = firmware_name(model, file_name)
    generated = {
        f"{prefix}.py": python_module(model, file_name, prefix),
        f"{prefix}.md": sheet(model, file_name, verdicts, look_up("pi")),
    }
    return tuple(
        EmittedFile(f"{prefix}/{name}", text, Whose.GENERATED) for name, text in generated.items()
    )


def firmware_name(model: Model, source_name: str) -> str:
    """Give what the files and names begin with: the file says, or it is made of its own name."""
    return model.firmware_name or identifier_from(PurePath(source_name).stem)
