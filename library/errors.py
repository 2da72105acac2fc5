"""The errors of the library that are written for a person: ``str()`` is one line with what, where, why, what to do."""


class LibraryError(Exception):
    """A document, a workshop or a pack cannot be used."""
