"""What a coder must know of his own files and his folder, in words. It writes nothing."""

from collections.abc import Iterator, Mapping

from codegen.arduino.cores import core
from codegen.marks import is_for_another, missing_marks
from codegen.module import Module
from codegen.wired import Board, Contact

CLOSE_US, LOOP_US = 150, 140
"""Steps that come closer than this are told of; so long takes a loop of the carousel on a Uno."""


def advice(module: Module, found: Mapping[str, str]) -> tuple[str, ...]:
    """Tell what is still to be done; `found` are the texts of the folder's files by name."""
    name = f"{module.prefix}_board.c"
    board_file = found.get(name, "")
    if is_for_another(module, board_file):
        other = (
            f"`{name}` was written for another controller than `{module.controller}`: move it "
            "away, and emit again"
        )
        return (other, *_strangers(module, found))
    told = [*_missing(module, name, board_file)]
    loop = f"{module.prefix}.ino"
    told += [*_missing(module, loop, found.get(loop, "")), *_strangers(module, found)]
    if module.board is not None:
        told += _levels_alone(module.board, name)
        told += _late_steps(module.board)
        told += _of_the_core(module.board)
    return tuple(told)


def _missing(module: Module, name: str, text: str) -> Iterator[str]:
    """Tell what a file does not do yet, and why, where the behaviour file says too little."""
    reasons = {} if module.board is None else dict(module.board.yours)
    for mark in missing_marks(module, text):
        why = next((f", for {reasons[word]}" for word in reasons if _is_of(mark.does, word)), "")
        yield (
            f"`{name}` does not {mark.does} yet{why}: it is not built until you have written that "
            f"there, and `#define {mark.macro}` with it"
        )


def _is_of(does: str, word: str) -> bool:
    """Tell whether what a mark says, such as `drive lamp.blue`, is of an input or output."""
    return does.partition(" ")[2].partition(".")[0] == word


def _strangers(module: Module, found: Mapping[str, str]) -> Iterator[str]:
    """Tell of a loop for a computer that an Arduino program would build too."""
    if module.board is not None and "main.c" in found:
        yield (
            "`main.c` is the loop for a computer, and would be built too: move it out of the folder"
        )


def _levels_alone(board: Board, name: str) -> Iterator[str]:
    for each in board.reads:
        if isinstance(each.how, Contact) and each.how.news:
            yield (
                f"`{each.word}` is read as a level: what it is when its sender falls silent is its "
                f"receiver's to do, or yours to write in `{name}`"
            )


def _late_steps(board: Board) -> Iterator[str]:
    for output, how in board.steppers:
        if board.core == "avr" and how.shortest_us < CLOSE_US:
            yield (
                f"`{output.word}` makes a step every {how.shortest_us} us at full speed, and one "
                f"may come late by a loop, some {LOOP_US} us on `{board.controller}`: try it at "
                "full speed before anything hangs on it"
            )


def _of_the_core(board: Board) -> Iterator[str]:
    if not core(board.core).is_built_here:
        yield (
            f"for `{board.controller}` what is emitted was compiled against a stub of its core's "
            "calls alone, and has run on no board"
        )
