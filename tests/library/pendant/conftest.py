"""The compilers that every test here needs."""

from __future__ import annotations

import pytest

from tests.library.pendant.compiling import CPP, C, forget_programs, need


@pytest.fixture(scope="session", autouse=True)
def compilers():
    """Compilers for C and C++; what they make is gone after the last test."""
    need(C[0], CPP[0])
    yield
    forget_programs()
