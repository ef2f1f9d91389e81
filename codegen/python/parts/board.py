"""The pins."""


class Board:
    """All pins, by name. Every output is at rest from the moment its pin drives."""

    def __init__(self):
        self.outputs = wired_outputs()
        self.inputs = wired_inputs()

    def rest(self):
        """Put every output to rest, even where one of them fails."""
        failed = None
        for output in self.outputs.values():
            try:
                output.rest()
            except Exception as problem:
                failed = problem
        if failed is not None:
            raise failed

    def close(self):
        for device in (*self.outputs.values(), *self.inputs.values()):
            device.close()
