"""Every notebook runs from top to bottom, and is kept without its outputs."""

from __future__ import annotations

import json
import re
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import nbformat
import numpy as np
import pytest
from nbclient import NotebookClient
from PIL import Image

ROOT = Path(__file__).parent.parent
FOLDER = ROOT / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))
every_notebook = pytest.mark.parametrize("path", NOTEBOOKS, ids=[p.stem for p in NOTEBOOKS])


def test_every_notebook_is_listed():
    assert [p.stem for p in NOTEBOOKS] == [
        "check_against_ewe_milk",
        "cost_per_litre",
        "design_a_mix",
        "feeding",
        "feeding_held_to_trials",
        "many_clients",
        "sureness_and_cartons",
    ]


@every_notebook
# The kernel's client leaves sockets and an event loop behind: not ours to mend.
@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_it_runs_from_top_to_bottom(path: Path, tmp_path: Path, monkeypatch):
    monkeypatch.setenv("IPYTHONDIR", str(tmp_path))
    monkeypatch.setenv("PYTHONWARNINGS", "error:::formulate")
    notebook = nbformat.read(path, as_version=4)
    client = NotebookClient(
        notebook,
        timeout=600,
        kernel_name="python3",
        resources={"metadata": {"path": str(tmp_path)}},
    )
    client.execute()
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    outputs = [out for cell in code for out in cell.outputs]
    assert all(cell.execution_count for cell in code)
    assert not [out for out in outputs if out.output_type == "error"]
    assert not [out for out in outputs if out.get("name") == "stderr"]
    pictures = [out for out in outputs if "image/png" in out.get("data", {})]
    frames = [out for out in outputs if "text/html" in out.get("data", {})]
    assert pictures
    assert len(frames) >= 3
    assert list(tmp_path.glob("*.*")) == []  # nothing written beside it


@every_notebook
def test_it_is_kept_without_outputs(path: Path):
    text = path.read_text(encoding="utf-8")
    notebook = nbformat.reads(text, as_version=4)
    nbformat.validate(notebook)
    for cell in notebook.cells:
        assert cell.metadata == {}
        if cell.cell_type == "code":
            assert cell.outputs == []
            assert cell.execution_count is None
    assert notebook.metadata.kernelspec.name == "python3"
    ids = [cell.id for cell in notebook.cells]
    assert len(ids) == len(set(ids))
    assert text == json.dumps(json.loads(text), indent=1, ensure_ascii=False) + "\n"


@every_notebook
def test_it_cautions_and_says_what_is_invented(path: Path):
    notebook = nbformat.read(path, as_version=4)
    prose = "\n".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")
    code = "\n".join(cell.source for cell in notebook.cells if cell.cell_type == "code")
    assert "olostrum" in prose
    assert "veterinarian" in prose
    assert "invented" in prose or "sample_pantry" not in code
    assert len(re.findall(r"\w+", prose)) > 200
    first = notebook.cells[0]
    assert first.cell_type == "markdown"
    assert first.source.startswith("# ")
    assert f"notebooks/{path.name}`" in first.source  # how to run it
    assert "pip install" in first.source


# --- pictures of the README --------------------------------------------------------------------


def script():
    spec = spec_from_file_location("pictures", FOLDER / "pictures.py")
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_pictures_can_be_made_again(tmp_path: Path):
    pictures = script()
    made = [*pictures.drawn(tmp_path), *pictures.protection(tmp_path)]
    kept = {path.name for path in (FOLDER / "pictures").iterdir()}
    assert {path.name for path in made} | {"page.png", "page-mix.png"} == kept
    for path in made:
        assert pictures.shrink(path) <= pictures.LARGEST
        with Image.open(path) as again, Image.open(FOLDER / "pictures" / path.name) as old:
            # Letters differ by a pixel between versions of the plotting library, no more.
            assert again.size == pytest.approx(old.size, rel=0.03)
            both = [im.convert("L").resize((64, 64), Image.Resampling.BOX) for im in (again, old)]
            differ = np.abs(np.subtract(*(np.asarray(im, dtype=float) for im in both)))
            assert differ.mean() < 6, path.name


def test_every_picture_is_small_and_grey():
    for path in (FOLDER / "pictures").iterdir():
        assert path.stat().st_size <= 170_000
        with Image.open(path) as image:
            pixels = np.asarray(image.convert("RGB")).astype(int)
        assert (np.ptp(pixels, axis=2) == 0).all(), path.name


def test_pictures_that_the_readme_shows_are_there():
    shown = re.findall(r"\]\((notebooks/pictures/[^)]+)\)", (ROOT / "README.md").read_text("utf-8"))
    assert all((ROOT / name).is_file() for name in shown)
