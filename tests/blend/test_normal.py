"""The normal curve, against scipy's."""

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from formulate.blend.protect.normal import below, inverse, tail


def test_chances():
    z = np.concatenate((np.linspace(-12, 12, 20_001), [-np.inf, np.inf, 0.0]))
    assert tail(z) == pytest.approx(ndtr(z), rel=1e-12, abs=1e-300)
    assert below(z) == pytest.approx(ndtr(z), abs=1e-6)


def test_values():
    chance = np.concatenate(
        (10.0 ** np.linspace(-15, -1, 2001), np.linspace(0.01, 0.99, 2001), [0.5])
    )
    assert inverse(chance) == pytest.approx(ndtri(chance), abs=1e-5)
    assert inverse(1 - chance) == pytest.approx(ndtri(1 - chance), abs=1e-5)
    assert inverse(np.array([0.5])) == pytest.approx(0.0, abs=1e-12)


def test_the_ends_stay_finite():
    assert np.isfinite(inverse(np.array([0.0, 1e-300, 1.0]))).all()
    assert below(np.array([-50.0, 50.0])) == pytest.approx([0.0, 1.0])
