"""`lodestring parts`, as a maker types it: a list, files that other libraries read, and nothing written over."""

from __future__ import annotations

import csv
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from lodestring.cli.main import main
from lodestring.folder.examples import example_text

pytest.importorskip("build123d", reason="solids need the extra 'parts': pip install .[parts]")
trimesh = pytest.importorskip("trimesh", reason="trimesh is missing; install it with: pip install .[witness]")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("parts")
    (place / "heron.toml").write_text(example_text("heron"), encoding="utf-8")
    return place


@pytest.fixture(scope="module")
def written(folder: Path) -> Result:
    return run(
        "parts", folder / "heron.toml", "-o", folder / "out", "--only", "bridge-top-plate", "--only", "bridge-press-jig"
    )


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(w) for w in words])


def test_the_list_names_every_part_and_the_room_between_them(folder: Path) -> None:
    done = run("parts", folder / "heron.toml")
    assert done.exit_code == 0, done.output
    for name in ("bridge-top-plate", "neck-bottom-plate", "bridge-press-jig", "test-piece-0480"):
        assert name in done.output
    assert "coil and eyelets" in done.output
    assert "-0.0" not in done.output


def test_the_files_are_whole_and_read_by_other_libraries(folder: Path, written: Result) -> None:
    assert written.exit_code == 0, written.output
    out = folder / "out"
    mesh = trimesh.load(out / "bridge-top-plate.stl")
    assert mesh.is_watertight
    # Heron says 80 x 16 x 2.4 mm; the plate is cut from sheet, so its outline is wider by what the cut takes.
    thick, width, length = sorted(float(v) for v in mesh.extents)
    assert thick == pytest.approx(2.4, abs=1e-3)
    assert length - 80.0 == pytest.approx(width - 16.0, abs=1e-3)
    assert 0.0 <= width - 16.0 <= 0.45
    with zipfile.ZipFile(out / "parts.zip") as packed:
        assert packed.testzip() is None
        assert "bridge-top-plate.dxf" in packed.namelist()
    rows = list(csv.DictReader((out / "parts-list.csv").read_text(encoding="utf-8").splitlines()))
    assert {r["part"] for r in rows} == {"bridge top plate", "bridge press jig"}


def test_the_same_folder_is_written_again_and_a_folder_with_other_files_is_not(folder: Path, written: Result) -> None:
    again = run("parts", folder / "heron.toml", "-o", folder / "out", "--only", "bridge-top-plate", "--format", "svg")
    assert again.exit_code == 0, again.output
    mine = folder / "mine"
    mine.mkdir()
    (mine / "diary.txt").write_text("mine")
    refused = run("parts", folder / "heron.toml", "-o", mine)
    assert refused.exit_code == 2
    assert "other files in it" in refused.output
    assert [p.name for p in mine.iterdir()] == ["diary.txt"]


def test_the_test_piece_is_written_for_a_diameter(folder: Path) -> None:
    done = run("test-piece", "4.8 mm", "-o", folder / "piece")
    assert done.exit_code == 0, done.output
    mesh = trimesh.load(folder / "piece" / "test-piece-0480.stl")
    assert mesh.is_watertight
    assert float(mesh.volume) < 6000.0, "at most 6 cm3 of material"


SLIPS = {
    "a part there is not": ("parts", "{f}/heron.toml", "-o", "{f}/new", "--only", "bridge-top-plat"),
    "a printer there is not": ("parts", "{f}/heron.toml", "--printer", "kiln"),
    "a set there is not": ("parts", "{f}/none.toml"),
    "a folder in no folder": ("parts", "{f}/heron.toml", "-o", "{f}/no/such"),
    "a file for a folder": ("parts", "{f}/heron.toml", "-o", "{f}/heron.toml"),
    "rods of a metre": ("test-piece", "1 m", "-o", "{f}/new"),
    "rods of no size": ("test-piece", "thick", "-o", "{f}/new"),
}


@pytest.mark.parametrize("words", SLIPS.values(), ids=SLIPS)
def test_a_slip_gets_a_sentence_and_nothing_is_written(words: tuple[str, ...], folder: Path) -> None:
    done = run(*(w.format(f=folder) for w in words))
    assert done.exit_code == 2
    assert done.output.strip()
    assert "Traceback" not in done.output
    assert not (folder / "new").exists()
