"""The compilers that every test here needs."""

from __future__ import annotations

import pytest

from tests.library.pendant.compiling import forget_programs, need_compilers


@pytest.fixture(scope="session", autouse=True)
def compilers():
    """Compilers for C and C++; what they make is gone after the last test."""
    need_compilers()
    yield
    forget_programs()
