"""Where emitted C departs from MISRA C:2012 or from a warning of clang, on purpose, and why.

The one table of them: the tests hold that cppcheck and clang find these and nothing else, and that
each still occurs. Files are told by what follows the prop's name, `.c` being the behaviour.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Deviation:
    """A rule of MISRA C:2012 or a warning, the files in which it is departed from, and why."""

    rule: str
    files: tuple[str, ...]
    reason: str


MISRA = (
    Deviation(
        "2.5",
        ("_settings.h",),
        "every setting stands there whoever uses it: some are the board's alone, and a file that "
        "is looked at by itself uses few",
    ),
    Deviation(
        "8.9",
        ("_trace.c", "_board.c"),
        "words of the trace and readings of the inputs stand together at the head of the file, "
        "where they are read as a list",
    ),
    Deviation(
        "10.2",
        ("_trace.c",),
        "a digit is made by adding to '0', as every standard of C allows: digits follow each other",
    ),
    Deviation(
        "10.4",
        ("_trace.c",),
        "letters are read by a macro, from flash on an AVR, and compared with letters: both are "
        "characters, which the tool does not see",
    ),
    Deviation(
        "15.7",
        (".c",),
        "where no transition is due nothing is done, and an empty `else` would say that in three "
        "lines more at each state",
    ),
    Deviation(
        "21.6",
        ("_board.c",),
        "the board of a computer reads and writes by the standard library; that of a controller "
        "does not",
    ),
    Deviation(
        "22.8",
        ("_board.c",),
        "a wait that is too long for a number becomes the longest one, which is what is wanted of "
        "a line that somebody typed",
    ),
)

CLANG = (
    Deviation(
        "-Wcovered-switch-default",
        (".c", "_board.c"),
        "a `default` that a healthy program never reaches brings everything to rest when memory "
        "has been upset",
    ),
    Deviation(
        "-Wpadded",
        (".h",),
        "members stand in the order of the behaviour file; what a compiler leaves between them is "
        "counted in the sizes",
    ),
)
