"""Reading without any likeness: each line parsed on its own. It has to give the same program."""

from parser.language.forms import kind_of_one
from parser.language.reader import AS_PUBLISHED, LONGEST_LINE, _read, _Reader
from parser.progress import unheard


class PlainReader(_Reader):
    """Reads single lines, each parsed on its own."""

    def line(self, number, text, likeness, *, may_be_head=False):
        if len(text) > LONGEST_LINE:
            return self._endless(number, text)
        return self._with_care(number, text, kind_of_one(text))


def read_plainly(text, controller=AS_PUBLISHED):
    """The program that a text holds, each line parsed on its own."""
    text = text.replace("\r\n", "\n")
    return _read(text, text, PlainReader(controller), unheard)
