"""The energy equations as arithmetic: inverse, monotone, each species its own."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulate.base.errors import InputError
from formulate.foods.tables import sources
from formulate.rearing.energy import energy_for, gain_from_kept, gain_of_energy, keep, least_gain
from formulate.rearing.figures import figures, value
from formulate.rearing.growth import predicted_gain
from formulate.rearing.meaning import protein_gain
from formulate.rearing.milk import Milk, milk_of_dry_matter
from formulate.rearing.prediction import gain_half, gain_sd, todays_gain, weight_half

STRONG = Milk("strong", 4.3, 17.0, 175.0, 24.0)

weights = st.floats(1.0, 20.0)
kids = st.booleans()
cold = st.sampled_from([1.0, 1.15])


@given(st.floats(4, 20), st.floats(0, 0.35))
def test_gain_from_kept_undoes_the_published_curve(weight, gain):
    slope, bend = 15.19 - 16.32 / weight, 219.57 / weight**2
    if gain > slope / (2 * bend):  # past the top the curve says nothing
        return
    kept = -0.17 + 15.19 * gain - 16.32 * gain / weight - 219.57 * (gain / weight) ** 2
    assert gain_from_kept(np.array(kept), weight) == pytest.approx(gain, abs=1e-6)


@given(weights, kids, cold, st.floats(-0.1, 0.6))
def test_the_energy_for_a_gain_gives_that_gain(weight, kid, more_keep, gain):
    energy = energy_for(gain, weight, kid, more_keep)
    assert float(gain_of_energy(energy, weight, kid, more_keep)) == pytest.approx(gain, abs=1e-7)


@given(
    weights, kids, cold, st.floats(0, 12), st.floats(0.01, 3), st.floats(0, 300), st.floats(0, 90)
)
def test_neither_more_energy_nor_more_protein_lowers_the_gain(
    weight, kid, more_keep, energy, more_energy, protein, more_protein
):
    before = todays_gain(energy, protein, weight, kid, more_keep)
    assert todays_gain(energy + more_energy, protein, weight, kid, more_keep) >= before - 1e-12
    assert todays_gain(energy, protein + more_protein, weight, kid, more_keep) >= before - 1e-12
    assert gain_of_energy(energy + more_energy, weight, kid, more_keep) > gain_of_energy(
        energy, weight, kid, more_keep
    )


def test_lambs_and_kids_in_one_array_are_as_each_alone():
    weight, kid = np.array([5.0, 5.0, 9.0]), np.array([False, True, False])
    together = gain_of_energy(4.0, weight, kid)
    alone = [float(gain_of_energy(4.0, w, k)) for w, k in zip(weight, kid, strict=True)]
    assert together == pytest.approx(alone)
    back = energy_for(together, weight, kid)
    assert back == pytest.approx([4.0] * 3)


def test_a_loss_below_keep_and_more_to_keep_in_the_cold():
    assert gain_of_energy(0.5, 6.0) < 0
    assert keep(6.0, True) == pytest.approx(0.485 * 6.0**0.75)
    assert keep(6.0, True, 1.15) == pytest.approx(1.15 * 0.485 * 6.0**0.75)
    assert keep(6.0, False, 1.15) > 1.1 * keep(6.0)


class TestPrediction:
    def test_protein_holds_the_gain_where_energy_would_allow_more(self):
        # 30 g of protein for a 5 kg lamb: (0.72 × 30 − 6.25 × 0.148 × 5^0.75) / 0.15 = 123 g.
        assert float(protein_gain(5.0, 30.0)) == pytest.approx(0.1234, abs=1e-4)
        assert predicted_gain(5.0, 6.0, 30.0, days=1).expected == pytest.approx(0.1234, abs=1e-4)
        assert predicted_gain(5.0, 6.0, days=1).expected > 0.25

    def test_one_animal_over_a_week_and_the_mean_of_many(self):
        # √(33² + 20² + (100 √(2/3) / 7)²) = 40.3 g/d; 19 in 20 lie within 1.96 of them.
        assert gain_sd(7) == pytest.approx(0.0403, abs=1e-4)
        assert gain_half(7) == pytest.approx(0.0790, abs=1e-4)
        assert gain_half(7) <= 0.080
        assert gain_half(28, 10_000) == pytest.approx(1.96 * 0.020, abs=1e-4)
        assert gain_half(3) > gain_half(7) > gain_half(28)

    def test_a_weight_is_as_uncertain_as_the_scale_and_then_more_each_day(self):
        assert float(weight_half(0)) == pytest.approx(1.96 * 0.1 / np.sqrt(3))
        assert (np.diff(weight_half(np.arange(40))) > 0).all()

    def test_a_milk_with_its_litres_is_its_energy_and_protein(self):
        milk = Milk("some", 4.3, 17.0, 175.0, 24.0)
        by_milk = predicted_gain(6.0, milk=milk, litres=1.1)
        assert by_milk == predicted_gain(6.0, 1.1 * 4.3, 1.1 * 42.0)

    def test_creep_adds_and_cold_takes(self):
        plain = predicted_gain(8.0, 5.0, 60.0).expected
        assert predicted_gain(8.0, 5.0, 60.0, creep=100).expected > plain
        assert predicted_gain(8.0, 5.0, 60.0, cold=True).expected < plain

    def test_the_sexes_of_kids_lie_either_side_of_the_mean(self):
        male, mean, female = (
            predicted_gain(6.0, 3.5, species="kid", sex=sex).expected
            for sex in ("male", "", "female")
        )
        assert male < mean < female

    def test_a_powder_is_asked_by_its_dry_matter_as_by_its_energy_and_protein(self):
        # 193 g of 41.94 x 31 % fat, 15.85 x 23 % protein and 21.41 x 38.5 % lactose, 94.3 % of it.
        powder = milk_of_dry_matter(fat=31, protein=23)
        asked = predicted_gain(4.0, milk=powder, dry_matter=193, days=28, count=8)
        energy = 0.193 * 0.943 * (41.94 * 0.31 + 15.85 * 0.23 + 21.41 * 0.385)
        by_hand = predicted_gain(4.0, energy, 193 * 0.23, days=28, count=8)
        assert asked == pytest.approx(by_hand)
        by_weight = predicted_gain(4.0, milk=powder, dry_matter=lambda _: 193, days=28, count=8)
        assert by_weight == pytest.approx(asked)
        litres = 193 / powder.solids_per_litre
        assert predicted_gain(4.0, milk=powder, litres=litres, days=28, count=8) == (
            pytest.approx(asked)
        )

    def test_how_thin_a_powder_is_stirred_changes_no_gain_on_its_dry_matter(self):
        thin, thick = (milk_of_dry_matter(28, 24, solids=s) for s in (12.0, 20.0))
        assert thin.energy < thick.energy
        one, other = (predicted_gain(5.0, milk=m, dry_matter=200) for m in (thin, thick))
        assert one == pytest.approx(other)

    def test_a_powders_lactose_is_what_is_left_unless_it_is_given(self):
        assert milk_of_dry_matter(30, 24) == milk_of_dry_matter(30, 24, 38.5)
        assert milk_of_dry_matter(30, 24, ash=9.0) == milk_of_dry_matter(30, 24, 37.0)
        with pytest.raises(InputError, match="do not make up a dry matter"):
            milk_of_dry_matter(60, 45)
        with pytest.raises(InputError, match="do not make up a dry matter"):
            milk_of_dry_matter(math.nan, 24)

    def test_the_mean_of_more_animals_is_surer_but_never_surer_than_the_equation(self):
        one, eight, many = (predicted_gain(5.0, 4.0, count=n) for n in (1, 8, 10**9))
        widths = [forecast.high - forecast.low for forecast in (one, eight, many)]
        assert widths[0] > widths[1] > widths[2]
        assert widths[2] == pytest.approx(2 * 1.96 * 0.020)
        assert one.expected == eight.expected == many.expected

    @pytest.mark.parametrize(
        ("asked", "told"),
        [
            ({"weight": 0.0, "energy": 3.0}, "above zero"),
            ({"weight": math.nan, "energy": 3.0}, "above zero"),
            ({"energy": 3.0, "days": 2.5}, "whole numbers"),
            ({"energy": 3.0, "count": 0}, "above zero"),
            ({}, "give the energy"),
            ({"litres": 1.0}, "give the energy"),
            ({"milk": STRONG}, "give the energy"),
            ({"milk": STRONG, "litres": 1.0, "dry_matter": 170.0}, "give the energy"),
            ({"milk": STRONG, "litres": 1.0, "energy": 4.3}, "give the energy"),
            ({"energy": -1.0}, "cannot eat or drink -1"),
            ({"energy": math.nan}, "cannot eat or drink nan"),
            ({"energy": lambda _: math.inf}, "cannot eat or drink inf"),
            ({"energy": 3.0, "protein": -5.0}, "cannot eat or drink -5"),
            ({"energy": 3.0, "creep": -20.0}, "cannot eat or drink -20"),
            ({"energy": 3.0, "species": "sheep"}, "sheep"),
            ({"energy": 3.0, "species": "kid", "sex": "ram"}, "ram"),
        ],
    )
    def test_what_cannot_be_asked_is_refused(self, asked, told):
        with pytest.raises(InputError, match=told):
            predicted_gain(**{"weight": 5.0, **asked})


@given(weights)
def test_the_least_sound_gain_is_a_share_of_weight_up_to_its_figure(weight):
    gain = float(least_gain(weight, 0.150))
    assert gain == pytest.approx(min(0.025 * weight, 0.150))


def test_every_figure_has_a_source_and_what_no_document_says_says_why():
    for figure in figures().values():
        assert figure.source in sources(), figure.name
        if not figure.published and figure.document.status == "judgement":
            assert figure.note or figure.name in ("light-at-birth",), figure.name
    assert value("cap-per-feed") == 50
