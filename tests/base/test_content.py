"""Objects that hold arrays compare by what they hold, and their hash agrees."""

from __future__ import annotations

import dataclasses
import importlib
import math
import pkgutil
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays

import formulate
from formulate.base.content import ByContent


@dataclass(frozen=True, eq=False)
class Held(ByContent):
    array: object
    table: Mapping[str, object] = field(default_factory=dict)
    aside: int = field(default=0, compare=False)


@dataclass(frozen=True, eq=False)
class Other(Held):
    pass


NAN = np.float64("nan")


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (Held(np.array([1.0, NAN])), Held(np.array([1.0, math.nan]))),
        (Held(np.array([0.0])), Held(np.array([-0.0]))),
        (Held(np.array([1, 2])), Held(np.array([1.0, 2.0]))),
        (Held(NAN, {"fat": NAN}), Held(math.nan, {"fat": float("nan")})),
        (Held([np.array([1.0]), (2,)]), Held([np.array([1.0]), (2,)])),
        (Held(1, {"a": 1, "b": 2}), Held(1, {"b": 2, "a": 1})),
        (Held(frozenset({1})), Held({1})),
        (Held(1, aside=1), Held(1, aside=2)),
    ],
)
def test_equal_in_content_is_equal_with_one_hash(one, other):
    assert one == other
    assert hash(one) == hash(other)
    assert len({one, other}) == 1


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (Held(np.array([1.0, 2.0])), Held(np.array([1.0, 2.5]))),
        (Held(np.array([1.0, NAN])), Held(np.array([NAN, 1.0]))),
        (Held(np.array([1.0])), Held(np.array([[1.0]]))),
        (Held(np.array([1.0])), Held(np.array([1.0, 1.0]))),
        (Held(np.array(["a"])), Held(np.array([1.0]))),
        (Held([1]), Held((1,))),
        (Held(1, {"a": 1}), Held(1, {"a": 1, "b": 1})),
        (Held(1), Other(1)),
        (Held(1), 1),
    ],
)
def test_other_content_is_not_equal(one, other):
    assert one != other
    assert other != one


@given(st.data())
def test_a_copy_is_equal_and_has_the_same_hash(data):
    values = data.draw(
        arrays(
            st.sampled_from([np.float64, np.int64, np.bool_]), array_shapes(min_side=0, max_side=5)
        )
    )
    assert Held(values) == Held(values.copy())
    assert hash(Held(values)) == hash(Held(values.copy()))


def test_no_class_with_an_array_compares_field_by_field():
    """Arrays have no single truth, so the equality that dataclasses write raises."""
    wrong = []
    for module in pkgutil.walk_packages(formulate.__path__, "formulate."):
        if module.name.endswith("__main__"):
            continue
        for name, kind in vars(importlib.import_module(module.name)).items():
            if not (isinstance(kind, type) and dataclasses.is_dataclass(kind)):
                continue
            holds = any(
                word in str(entry.type)
                for entry in dataclasses.fields(kind)
                for word in ("Array", "Vector")
            )
            if holds and not name.startswith("_") and kind.__dataclass_params__.eq:
                wrong.append(f"{module.name}.{name}")
    assert wrong == []
