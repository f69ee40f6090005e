"""The energy accounts as arithmetic: inverse, monotone, within their order."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulate.foods.tables import sources
from formulate.rearing.energy import (
    ACCOUNTS,
    accounts,
    energy_for_gain,
    gain_from_kept,
    gains,
    keep,
    least_gain,
)
from formulate.rearing.figures import figures, value
from formulate.rearing.flock import Species

weights = st.floats(1.0, 20.0)
proteins = st.floats(5, 60)


@given(st.floats(3, 20), st.floats(0, 0.35))
def test_gain_from_kept_undoes_the_published_curve(weight, gain):
    slope, bend = 15.19 - 16.32 / weight, 219.57 / weight**2
    if gain > slope / (2 * bend):  # past the top the curve says nothing
        return
    kept = -0.17 + 15.19 * gain - 16.32 * gain / weight - 219.57 * (gain / weight) ** 2
    assert gain_from_kept(np.array(kept), weight) == pytest.approx(gain, abs=1e-6)


@given(weights, proteins, st.floats(0, 12), st.floats(0, 3))
def test_more_energy_never_means_less_gain(weight, protein, energy, more):
    assert (gains(energy + more, weight, protein) >= gains(energy, weight, protein) - 1e-12).all()


@given(weights, proteins)
def test_keep_is_the_highest_of_the_accounts(weight, protein):
    each = [account.maintenance(weight) for account in accounts(protein)]
    assert keep(weight, protein) == max(each)
    assert [account.source for account in accounts(protein)] == list(ACCOUNTS)


@given(weights, proteins, st.sampled_from(Species))
def test_need_leaves_the_least_gain_by_every_account(weight, protein, species):
    gain = least_gain(weight, value("least-gain", species))
    energy = keep(weight, protein) + energy_for_gain(gain)
    by_account = gains(energy, weight, protein)
    assert (by_account >= gain - 1e-9).all()


def test_a_loss_below_keep():
    assert (gains(0.5, 6.0)[:2] < 0).all()


def test_walker_and_norton_between_their_milks():
    low, middle, high = (accounts(p)[2] for p in (12.0, 28.5, 45.5))
    assert accounts(5.0)[2] == low
    assert accounts(60.0)[2] == high
    assert accounts(20.25)[2].keep == pytest.approx((low.keep + middle.keep) / 2)


def test_every_figure_has_a_source_and_what_no_document_says_says_why():
    for figure in figures().values():
        assert figure.source in sources(), figure.name
        if not figure.published and figure.document.status == "judgement":
            assert figure.note or figure.name in ("light-at-birth",), figure.name
    assert value("cap-per-feed") == 50
