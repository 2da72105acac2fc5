"""The sender keeps its promises whatever is turned, pressed, answered or broken, and never leaves its memory."""

from __future__ import annotations

import random
import subprocess

import pytest

from tests.library.pendant.compiling import ANSWERING, SANITIZED, SLOTS, compiled, header

STORIES, LONGEST = 3000, 600
SHEETS = {
    "answering": ANSWERING,
    "silent": ANSWERING.replace('"TAKEN"', '""'),
    "stopping": ANSWERING.replace('"done"', '"queued"') + 'release = "immediate"\nstop_line = "@CEASE"\n',
}


def told(controller, content):
    brief = SLOTS + "[gesture]\nsettle = 0.1\nwindow = 2.0\nturns = [2]\n"
    program = compiled(header(controller=SHEETS[controller], pendant=brief), "anything.c", *SANITIZED)
    return subprocess.run([program], input=content, capture_output=True, timeout=120)


def story(content):
    return len(content).to_bytes(2, "little") + content


@pytest.mark.parametrize("controller", SHEETS)
def test_random_stories_break_no_promise(controller):
    chance = random.Random(controller)
    stories = b"".join(story(chance.randbytes(chance.randrange(LONGEST))) for _ in range(STORIES))
    done = told(controller, stories)
    assert (done.returncode, done.stderr) == (0, b"")


@pytest.mark.parametrize("controller", SHEETS)
def test_stories_near_the_gesture_break_no_promise(controller):
    # the controller idle, the selector at rest, the button pressed, clicks, answers; with a byte or two changed
    chance = random.Random(controller)
    answered = [*range(200, 206), *([0, 2, 90] * 3)]
    gesture = bytes([2, 2, 199, 1, 2, 20, *([0, 4, 20] * 4), *(answered * 9)])
    stories = []
    for _ in range(STORIES):
        changed = bytearray(gesture)
        for _ in range(chance.randrange(4)):
            changed[chance.randrange(len(changed))] = chance.randrange(256)
        stories.append(story(bytes(changed)))
    done = told(controller, b"".join(stories))
    assert (done.returncode, done.stderr) == (0, b"")
