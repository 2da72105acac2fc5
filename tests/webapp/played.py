"""The run of a macro as the script of the page reads it."""

from __future__ import annotations

import json
from itertools import accumulate


def unpacked(text):
    """What ``samples.js`` makes of the text: rows of numbers that were sent as differences."""
    run = json.loads(text)
    of_second, of_mm = run["parts"]
    summed = {axis: list(accumulate(row)) for axis, row in run["positions"].items()}
    return run | {
        "times": [each / of_second for each in accumulate(run["times"])],
        "positions": {axis: [each / of_mm for each in row] for axis, row in summed.items()},
        "lines": list(accumulate(run["lines"])),
    }
