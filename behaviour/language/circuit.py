"""Draws the circuit of a two-valued input in plain signs. It knows nothing of files."""


def drawn(pull: str, pin: str, made: str, unmade: str) -> str:
    """Draw an input with its pull resistor, and say what a cut wire reads.

    `made` is the value at which the contact closes the circuit, `unmade` the other.
    """
    at_top, at_foot = ("pull resistor", "contact") if pull == "up" else ("contact", "pull resistor")
    level, made_level = ("high", "low") if pull == "up" else ("low", "high")
    return (
        "    supply\n"
        "      |\n"
        f"    [{at_top}]\n"
        f"      +------ {pin}\n"
        f"    [{at_foot}]\n"
        "      |\n"
        "    ground\n"
        f"    contact made: `{pin}` is {made_level}, and reads `{made}`\n"
        f"    contact open, or its wire cut: `{pin}` is {level}, and reads `{unmade}`"
    )
