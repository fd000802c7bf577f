"""The library's public face is one sorted list."""

from __future__ import annotations

import inspect

from takeoff import actions


def test_the_public_list_is_sorted_and_complete():
    assert actions.__all__ == sorted(actions.__all__, key=lambda n: (not n.isupper(), not n[0].isupper(), n))
    assert all(hasattr(actions, name) for name in actions.__all__)


def test_every_public_function_and_class_is_documented():
    public = [getattr(actions, name) for name in actions.__all__]
    documented = [value for value in public if inspect.isfunction(value) or inspect.isclass(value)]
    assert len(documented) > 20
    assert [value.__name__ for value in documented if not inspect.getdoc(value)] == []
