"""A scenario and its page for the tests of this folder."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.page.holding import Page, served, write


@pytest.fixture
def scenario(tmp_path: Path) -> Path:
    """The small holding, fresh."""
    return write(tmp_path)


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """Its page, served for all tests of a file; they leave the scenario as it is."""
    with served(write(tmp_path_factory.mktemp("served"))) as running:
        yield running
