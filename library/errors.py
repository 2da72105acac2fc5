"""The errors of the library that are written for a person: ``str()`` is one line with what, where, why, what to do."""


class LibraryError(Exception):
    """A document, a workshop or a pack cannot be used."""


class BlockError(LibraryError):
    """A step cannot be written: ``str()`` is one line, ``parameter`` names the value to fix, "" the step itself."""

    def __init__(self, message: str, parameter: str = "") -> None:
        super().__init__(message)
        self.parameter = parameter
