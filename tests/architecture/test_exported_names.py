"""The library face: sorted public names, the same in both places, each documented, typed for those who use it."""

from __future__ import annotations

import inspect
from importlib.resources import files

import pytest

import wallworthy
from wallworthy.journey import face

pytestmark = pytest.mark.practice


def test_the_names_are_sorted_and_those_of_the_face() -> None:
    assert wallworthy.__all__ == sorted(wallworthy.__all__)
    assert face.__all__ == sorted(face.__all__)
    assert set(wallworthy.__all__) == {*face.__all__, "__version__"}
    assert len(wallworthy.__all__) == len(set(wallworthy.__all__))
    assert dir(wallworthy) == wallworthy.__all__


@pytest.mark.parametrize("name", face.__all__)
def test_every_name_is_there_and_documented(name: str) -> None:
    thing = getattr(wallworthy, name)
    assert thing is getattr(face, name)
    own = inspect.getdoc(thing)
    assert own, f"{name} says nothing of itself"
    # A dataclass or an enumeration without a docstring gets one made up.
    assert not own.startswith((f"{name}(", "An enumeration"))


def test_a_name_that_is_not_there_is_refused() -> None:
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        wallworthy.nothing  # noqa: B018


def test_the_package_says_that_it_is_typed() -> None:
    assert files("wallworthy").joinpath("py.typed").is_file()
