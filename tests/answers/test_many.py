"""Many pantries at once give what each gives alone, whoever does the work."""

import random
from concurrent.futures import ThreadPoolExecutor

import pandas as pd
import pytest
from made_folders import BROKEN, made_folder, pantry_text, price_list_text

import formulate
from formulate.answers.compare import costs_of
from formulate.answers.many import many_rows, rows_in_steps
from formulate.answers.many_jobs import BY_GRAM, Job, jobs_of
from formulate.answers.mix import mix
from formulate.base.executors import in_step
from formulate.pantry.pantry import parse_pantry, sample_pantry
from formulate.pantry.price_list import price_list_of
from formulate.pantry.pricing import repriced

REFERENCES = ("lamb-replacer", "ewe-milk", "kid-replacer")


def price_list(seed):
    lines = [line.split(",") for line in price_list_text(seed).splitlines()]
    rows = [dict(zip(lines[0], line, strict=True)) for line in lines[1:]]
    return price_list_of(rows, f"shop {seed}")


def check_row(row, answer):
    """A row is what the question gives alone."""
    assert not row.error
    alone = answer.milk or answer.instead
    if alone is None:
        assert row.milk is None
        return
    assert row.milk.found == (answer.milk is not None)
    assert row.milk.judgement.verdict == alone.judgement.verdict
    assert row.yes == answer.yes
    assert row.costs == pytest.approx(costs_of(alone.mix), rel=1e-9, nan_ok=True)
    assert row.milk.volume == pytest.approx(alone.mix.volume, rel=1e-9)


def check_many(seeds):
    for seed in seeds:
        reference = REFERENCES[seed % len(REFERENCES)] if seed % 4 == 0 else REFERENCES[0]
        text = pantry_text(seed)
        (row,) = many_rows(Job("one", text, (reference,)))
        check_row(row, mix(parse_pantry(text), reference, BY_GRAM))


def test_each_of_many_pantries_is_answered_as_if_alone():
    check_many(range(25))


@pytest.mark.long
def test_each_of_a_thousand_pantries_is_answered_as_if_alone():
    check_many(range(1000, 2000))


@pytest.mark.parametrize("seed", range(4))
def test_each_of_many_price_lists_is_answered_as_if_alone(seed):
    pantry = parse_pantry(pantry_text(seed))
    lists = tuple(price_list(k) for k in range(10 * seed, 10 * seed + 6))
    rows = many_rows(Job("one", pantry, ("lamb-replacer",), lists))
    assert [row.prices for row in rows] == [listed.name for listed in lists]
    for row, listed in zip(rows, lists, strict=True):
        check_row(row, mix(repriced(pantry, listed), "lamb-replacer", BY_GRAM))
        assert row.prices_to.isoformat() == "2026-11-09"


@pytest.mark.parametrize("seed", [3, 15])
def test_each_of_many_price_lists_has_its_own_nearest_milk(seed):
    """Of milks that are equally near, the cheapest; what does not hang on prices is shared."""
    pantry = parse_pantry(pantry_text(seed))
    lists = tuple(price_list(k) for k in range(5))
    rows = many_rows(Job("one", pantry, ("lamb-replacer",), lists))
    assert not any(row.milk.found for row in rows)
    for row, listed in zip(rows, lists, strict=True):
        check_row(row, mix(repriced(pantry, listed), "lamb-replacer", BY_GRAM))


def test_pantries_in_step_have_the_rows_that_each_has_alone():
    """Good ones, one without a milk in range, and broken ones, among each other."""
    texts = [pantry_text(1), BROKEN["package"], pantry_text(3), pantry_text(2), "]"]
    jobs = [Job(f"{k}", text, REFERENCES, (price_list(k),)) for k, text in enumerate(texts)]
    alone = [many_rows(job) for job in jobs]
    assert [len(rows) for rows in alone] == [3, 1, 3, 3, 1]
    assert repr(in_step(rows_in_steps, jobs)) == repr(alone)


def test_in_whole_measures_and_without_prices_too():
    sample = sample_pantry()
    row = formulate.many(sample, measures=True, make="1 quart").iloc[0]
    answer = mix(sample, "lamb-replacer", formulate_request(make="1 quart"))
    assert row["amounts"] == answer.milk.recipe_text(sample)
    assert row["cost_per_litre"] == pytest.approx(answer.milk.mix.cost_per_litre, rel=1e-9)
    plain = pd.DataFrame({"food": ["whole-milk", "evaporated-milk", "heavy-cream"]})
    row = formulate.many(plain).iloc[0]
    assert (row["verdict"], row["status"]) == ("inside", "designed")
    assert pd.isna(row["cost_per_litre"])


def formulate_request(**wishes):
    from dataclasses import replace

    return replace(BY_GRAM, by_gram=False, **wishes)


def test_a_milk_that_is_not_possible_has_its_nearest_and_the_clash():
    row = formulate.many(sample_pantry(), "ewe-milk").iloc[0]
    assert (row["verdict"], row["status"]) == ("outside", "nearest")
    assert row["nearest_miss"] == "milk sugar (lactose): 6.64 % as fed, not 4.5 to 5.4"
    assert row["clash"] == "protein of at least 5.4 %; milk sugar of at most 5.4 %"
    assert row["binds"] == ""


def test_what_binds_is_met_with_nothing_to_spare():
    (row,) = many_rows(Job("one", sample_pantry()))
    assert [(limit.band.measure, limit.value) for limit in row.milk.binds] == [
        ("solids", 16.0),
        ("fat", 28.0),
    ]


@pytest.mark.parametrize(("word", "text"), list(BROKEN.items()))
def test_a_pantry_that_cannot_be_read_is_one_row(word, text):
    rows = many_rows(Job("bad.toml", text, REFERENCES, (price_list(1), price_list(2))))
    assert [(row.pantry, row.reference, row.prices) for row in rows] == [("bad.toml", "", "")]
    assert word in rows[0].error
    assert "\n" not in rows[0].error


def test_a_reference_that_a_pantry_does_not_have_is_one_row():
    rows = many_rows(Job("one", sample_pantry(), ("lamb-replacr", "lamb-replacer")))
    assert [bool(row.error) for row in rows] == [True, False]
    assert "Did you mean lamb-replacer" in rows[0].error


def test_a_price_list_that_does_not_fit_a_pantry_is_a_row(tmp_path):
    slip = price_list_of(
        [{"food": "whole-mlk", "price": 3, "package": "1 quart", "date": "2026-11-09"}], "slip"
    )
    rows = many_rows(Job("one", sample_pantry(), prices=(price_list(1), slip, price_list(2))))
    assert [bool(row.error) for row in rows] == [False, True, False]


def test_a_bug_costs_one_row(monkeypatch):
    import formulate.answers.many as module

    def breaks(*_):
        raise ZeroDivisionError("oh")

    monkeypatch.setattr(module, "_by_gram", breaks)
    (row,) = many_rows(Job("one", sample_pantry()))
    assert "ZeroDivisionError: oh" in row.error


def test_folders_files_pantries_and_frames_are_taken_in_their_order(tmp_path):
    folder = made_folder(tmp_path / "clients", 3)
    (folder / "flock.toml").write_text("animals = []")
    (folder / "farm").mkdir()
    (folder / "farm" / "pantry.toml").write_text(pantry_text(9))
    frame = pd.DataFrame({"pantry": ["x", "y"], "food": ["whole-milk", "evaporated-milk"]})
    named = [folder, folder / "client_00001.toml", sample_pantry(), frame]
    names = [job.name for job in jobs_of(named, Job("", ""))]
    files = [f"client_{number:05}.toml" for number in range(3)]
    assert names == [
        *(str(folder / name) for name in (*files, "farm/pantry.toml", files[1])),
        "Nettlebed Hollow (invented)",
        "x",
        "y",
    ]
    assert [job.name for job in jobs_of({"mine": sample_pantry()}, Job("", ""))] == ["mine"]


def test_a_file_that_is_not_a_pantry_is_refused():
    with pytest.raises(TypeError, match="int"):
        formulate.many(3)
    with pytest.raises(TypeError, match="float"):
        formulate.many(sample_pantry(), prices=[1.5])


@pytest.mark.parametrize("references", [3, ["lamb-replacer", None]])
def test_a_name_that_is_not_a_reference_is_refused(references):
    with pytest.raises(TypeError, match="reference"):
        formulate.many(sample_pantry(), references)


def test_threads_give_the_same_table(tmp_path):
    folder = made_folder(tmp_path, 24, broken=True)
    lists = [price_list(1), price_list(2)]
    alone = formulate.many(folder, ["lamb-replacer", "ewe-milk"], lists)
    assert len(alone) == 22 * 4 + 2
    with ThreadPoolExecutor(3) as threads:
        pd.testing.assert_frame_equal(
            formulate.many(folder, ["lamb-replacer", "ewe-milk"], lists, threads), alone
        )
    assert list(alone["pantry"]) == sorted(alone["pantry"])


def test_the_order_of_foods_and_lists_does_not_matter():
    pantry = sample_pantry()
    lists = [price_list(k) for k in range(8)]
    rows = {row.prices: row.costs for row in many_rows(Job("one", pantry, prices=tuple(lists)))}
    random.Random(1).shuffle(lists)
    for row in many_rows(Job("one", pantry, prices=tuple(lists))):
        assert row.costs == pytest.approx(rows[row.prices], rel=1e-9)
