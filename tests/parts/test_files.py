"""Files as others read them: STL by trimesh and shapely, DXF by its group codes, STEP by the kernel, 3MF by lib3mf."""

from __future__ import annotations

import csv
import io
import math
import xml.etree.ElementTree as ET
import zipfile
from dataclasses import replace
from typing import Any

import pytest
from measuring import Ring, dxf_entities, dxf_pairs, rings, section, stl_mesh
from parts_examples import assessed

from lodestring.parts.files import FORMATS, bundle, part_files, parts_list
from lodestring.parts.files_flat import dxf_bytes, svg_bytes
from lodestring.parts.files_solid import safe, threemf
from lodestring.parts.mesh import mesh_of
from lodestring.parts.pieces import pieces
from lodestring.parts.records import Mark, Piece, Plate

PI = math.pi
# Heron's bridge row by hand: six strings, 52.5 mm at the bridge and 36 mm at the nut, 45 mm of 686 mm up the string.
SPAN = 52.5 - (52.5 - 36.0) * 45.0 / 686.0
ROW = [SPAN * (i / 5 - 0.5) for i in range(6)]
# Rods of 4.8 mm, pressed by hand (-0.02), in sheet whose cut takes 0.2 mm: drawn 4.58.
DRILLED = 4.8 - 0.02 - 0.2
# Points of a file are true to 1e-6 mm (STL: single floats, 4e-6 at 40 mm); a circle fitted to them to about that.
TRUE = 2e-5
# Between the corners of a polygon a section cuts its chords: a circle fitted there is smaller, by less than the chords'
# own depth, 2 r (1 - cos 0.1) = 0.024 mm at r = 2.4 mm; a tenth of a millimetre is what a fit is about.
CHORDS = 0.006


def measure(found: list[Ring], wanted: list[float]) -> None:
    """Fitted diameters are the wanted ones, or a little less for their chords; never more."""
    assert len(found) == len(wanted)
    for ring, size in zip(found, wanted, strict=True):
        assert size - CHORDS < ring.diameter < size + TRUE
        assert ring.off < CHORDS


def piece(name: str, of: str) -> Piece:
    return next(p for p in pieces(assessed(of)) if p.name == name)


def files(p: Piece, kind: str) -> bytes:
    return part_files(p, (kind,))[f"{p.name}.{kind}"]


def test_the_holes_of_a_plate_are_where_the_strings_are_and_as_wide_as_its_fit_says(kernel: Any) -> None:
    mesh = stl_mesh(files(piece("bridge-top-plate", "heron"), "stl"))
    found = rings(section(mesh, (0, 0, 1.2), (0, 0, 1)))
    assert [r.x for r in found] == pytest.approx(ROW, abs=TRUE)
    assert [r.y for r in found] == pytest.approx([0.0] * 6, abs=TRUE)
    measure(found, [DRILLED] * 6)


def test_a_bobbin_s_holes_run_through_both_plates_and_the_core_in_the_row_of_the_strings(kernel: Any) -> None:
    # plover: eight strings at 9.5 mm at the bridge and 9 mm at the nut, the front coil 62 + 9 mm up 572 mm;
    # pole pieces of 4.8 mm slip (0.1) in a printed hole that comes out 0.25 mm small
    pitch = 9.5 - 0.5 * (62 + 9) / 572
    mesh = stl_mesh(files(piece("main-front-bobbin", "plover"), "stl"))
    for z in (1.0, 7.0, 13.0):
        found = [r for r in rings(section(mesh, (0, 0, z), (0, 0, 1))) if r.diameter > 4]
        assert [r.x for r in found] == pytest.approx([pitch * (i - 3.5) for i in range(8)], abs=TRUE)
        measure(found, [5.15] * 8)
    eyelets = [r for r in rings(section(mesh, (0, 0, 0.5), (0, 0, 1))) if r.diameter < 4]
    assert len(eyelets) == 3
    assert not [r for r in rings(section(mesh, (0, 0, 13.0), (0, 0, 1))) if r.diameter < 4]


def test_upright_and_lying_holes_of_the_test_piece_measure_as_its_raised_figures_say(kernel: Any) -> None:
    mesh = stl_mesh(files(piece("test-piece-0480", "heron"), "stl"))
    upright = rings(section(mesh, (0, 0, 1.0), (0, 0, 1)))
    measure(upright, [4.7, 4.8, 4.9, 5.0, 5.1, 5.2, 5.3])
    back = mesh.bounds[1][1] - 3.0  # pegs of 3 mm stand out behind the wall of 2.4 mm
    lying = rings(section(mesh, (0, back - 1.2, 0), (0, 1, 0)))
    measure(lying, [4.7, 4.8, 4.9, 5.0, 5.1, 5.2, 5.3])
    pegs = section(mesh, (0, back + 1.5, 0), (0, 1, 0))
    widths = sorted(p.bounds[2] - p.bounds[0] for p in pegs.geoms)
    assert widths == pytest.approx([4.3, 4.4, 4.5, 4.6, 4.7, 4.8, 4.9], abs=0.02)  # across corners of a polygon


@pytest.mark.parametrize("of", ["heron", "plover", "wren"])
def test_every_mesh_is_closed_and_holds_the_volume_of_its_solid(kernel: Any, of: str) -> None:
    for p in pieces(assessed(of)):
        mesh = stl_mesh(files(p, "stl"))
        assert mesh.is_watertight, p.name
        assert mesh.is_winding_consistent, p.name
        assert mesh.body_count == 1, p.name
        # chords of 0.01 mm lie inside round walls and outside holes: some tenths of a per cent at most
        from lodestring.parts.solids import solid_of

        assert mesh.volume == pytest.approx(solid_of(p.shape).volume, rel=3e-3), p.name


@pytest.mark.parametrize(("name", "of"), [("bridge-ring", "heron"), ("main-bar-carrier", "plover")])
def test_a_step_file_read_back_is_the_same_solid(kernel: Any, name: str, of: str) -> None:
    from lodestring.parts.solids import solid_of

    p = piece(name, of)
    data = files(p, "step")
    assert b"ISO-10303-21" in data[:40]
    back = _read_step(kernel, data)
    assert len(back.solids()) == 1
    assert back.volume == pytest.approx(solid_of(p.shape).volume, rel=1e-9)
    assert len(back.faces()) == len(solid_of(p.shape).faces())


def _read_step(kernel: Any, data: bytes) -> Any:
    import tempfile
    from pathlib import Path

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "part.step"
        path.write_bytes(data)
        return kernel.import_step(path)


@pytest.mark.parametrize("title", ["bridge plate", 'a <b> & "c" \u0007', "ø 4,8 mm"])
def test_lib3mf_reads_unit_name_and_mesh_of_a_3mf(kernel: Any, title: str) -> None:
    lib3mf: Any = pytest.importorskip("lib3mf", reason="needs the extra 'parts': lib3mf comes with build123d")
    p = piece("bridge-top-plate", "heron")
    wrapper = getattr(lib3mf, "Wrapper", None)
    library = wrapper() if wrapper else lib3mf.get_wrapper()
    model = library.CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromBuffer(threemf(mesh_of(p.shape), p.name, title))
    assert reader.GetWarningCount() == 0
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    objects = model.GetMeshObjects()
    assert objects.MoveNext()
    found = objects.GetCurrentMeshObject()
    assert found.GetName() == "".join(c for c in title if c.isprintable())
    assert found.IsManifoldAndOriented()
    assert found.GetTriangleCount() == len(mesh_of(p.shape).triangles)
    box = found.GetOutbox()
    assert box.MaxCoordinate[0] - box.MinCoordinate[0] == pytest.approx(80.2, abs=1e-3)  # 80 and the kerf's 0.2


def test_a_dxf_holds_true_circles_and_arcs_at_full_size_in_two_layers(kernel: Any) -> None:
    data = files(piece("bridge-bottom-plate", "heron"), "dxf")
    pairs = dxf_pairs(data)
    assert pairs[pairs.index((9, "$INSUNITS")) + 1] == (70, "4")  # millimetres
    found = dxf_entities(data)
    assert {e["type"] for e in found} == {"CIRCLE", "ARC", "LINE"}
    assert {e[8] for e in found} == {"CUT", "ENGRAVE"}
    rods = sorted((e for e in found if e["type"] == "CIRCLE" and float(e[40]) > 2), key=lambda e: float(e[10]))
    assert [float(e[10]) for e in rods] == pytest.approx(ROW, abs=1e-6)
    assert [2 * float(e[40]) for e in rods] == pytest.approx([DRILLED] * 6, abs=1e-6)
    # the outline: two half circles of 8.1 mm and two straights, end to end, 80.2 mm long
    arcs = [e for e in found if e["type"] == "ARC"]
    turned = sum((float(e[51]) - float(e[50])) % 360 for e in arcs)
    assert turned == pytest.approx(360.0, abs=1e-6)
    assert {round(float(e[40]), 6) for e in arcs} == {8.1}
    lines = [e for e in found if e["type"] == "LINE" and e[8] == "CUT"]
    assert sum(math.dist((float(e[10]), float(e[20])), (float(e[11]), float(e[21]))) for e in lines) == pytest.approx(
        2 * (80.2 - 16.2), abs=1e-6
    )
    # engraved: the start's groove, from the core's end to the eyelet
    (groove,) = [e for e in found if e[8] == "ENGRAVE"]
    eyelets = [(float(e[10]), float(e[20])) for e in found if e["type"] == "CIRCLE" and float(e[40]) < 2]
    assert min(math.dist((float(groove[11]), float(groove[21])), e) for e in eyelets) < 1e-6


def test_a_dxf_passes_another_library_s_audit(kernel: Any) -> None:
    ezdxf = pytest.importorskip("ezdxf", reason="needs the extra 'parts' (ezdxf)")
    document = ezdxf.read(io.StringIO(files(piece("bridge-template", "heron"), "dxf").decode()))
    assert not document.audit().errors


def test_the_outline_of_a_dxf_is_closed(kernel: Any) -> None:
    found = [e for e in dxf_entities(files(piece("bridge-template", "heron"), "dxf")) if e[8] == "CUT"]
    ends: list[tuple[float, float]] = []
    for e in found:
        if e["type"] == "LINE":
            ends += [(float(e[10]), float(e[20])), (float(e[11]), float(e[21]))]
        elif e["type"] == "ARC":
            for code in (50, 51):
                angle = math.radians(float(e[code]))
                r = float(e[40])
                ends.append((float(e[10]) + r * math.cos(angle), float(e[20]) + r * math.sin(angle)))
    for end in ends:  # every end meets exactly one other
        assert sum(math.dist(end, other) < 1e-5 for other in ends) == 2, end


def test_an_svg_of_a_flat_part_is_at_full_size_with_cut_and_engraved_lines_apart(kernel: Any) -> None:
    root = ET.fromstring(files(piece("bridge-bottom-plate", "heron"), "svg"))
    _, _, wide, high = (float(v) for v in root.attrib["viewBox"].split())
    assert root.attrib["width"] == f"{wide:g}mm"
    assert root.attrib["height"] == f"{high:g}mm"
    assert (wide, high) == pytest.approx((80.2 + 4, 16.2 + 4))  # an empty edge of 2 mm all round
    groups = {g.attrib["id"]: g for g in root.iter("{http://www.w3.org/2000/svg}g")}
    assert len(groups["cut"]) == 6 + 3 + 1  # rods, eyelets and lead-out, outline
    assert len(groups["engrave"]) == 1


def test_the_same_part_gives_the_same_bytes_whatever_was_made_before(kernel: Any) -> None:
    from lodestring.parts.solids import solid_of

    p, other = piece("bridge-bottom-plate", "heron"), piece("main-bar-carrier", "plover")
    first = part_files(p)
    part_files(other)
    solid_of.cache_clear()
    mesh_of.cache_clear()
    again = part_files(p)
    assert first.keys() == again.keys() == {f"bridge-bottom-plate.{kind}" for kind in FORMATS}
    assert [k for k in first if first[k] != again[k]] == []


HOSTILE = 'x"/><script>&\n=cmd|../../etc\u202e'


def test_text_that_would_do_harm_comes_out_as_text(kernel: Any) -> None:
    p = replace(piece("bridge-top-plate", "heron"), name=HOSTILE, title="=1+2", material=HOSTILE)
    made = part_files(p)
    name = safe(HOSTILE)
    assert name.replace("-", "").isalnum()
    assert set(made) == {f"{name}.{kind}" for kind in FORMATS}
    ET.fromstring(svg_bytes(p.shape, HOSTILE.replace("\u202e", "")) if isinstance(p.shape, Plate) else b"")
    archive = zipfile.ZipFile(io.BytesIO(bundle((p,), made)))
    assert archive.namelist() == ["parts-list.csv", *(f"{name}.{kind}" for kind in FORMATS)]
    rows = list(csv.DictReader(io.StringIO(archive.read("parts-list.csv").decode())))
    assert rows[0]["part"] == "'=1+2"
    assert archive.testzip() is None


def test_the_list_says_how_many_of_what_how_laid_and_what_for(heron: Any) -> None:
    rows = list(csv.DictReader(io.StringIO(parts_list(pieces(heron)).decode())))
    plate = next(r for r in rows if r["part"] == "bridge bottom plate")
    assert plate["quantity"] == "1"
    assert plate["material"] == "vulcanised fibre"
    assert plate["made by"] == "cut sheet"
    assert plate["how it lies"]
    assert plate["what for"]
    assert plate["files"].split() == [f"bridge-bottom-plate.{kind}" for kind in FORMATS]
    assert {r["needed"] for r in rows} == {"yes", "offered"}


def test_an_engraved_letter_keeps_its_layer_and_its_height(kernel: Any) -> None:
    from lodestring.parts.lettering import strokes

    marked = Plate(0.05, 0.02, 0.002, 0.003, marks=Mark(strokes("H", 0.004)))
    lines = [e for e in dxf_entities(dxf_bytes(marked)) if e[8] == "ENGRAVE"]
    heights = [float(e[c]) for e in lines for c in (20, 21)]
    assert len(lines) == 3
    assert max(heights) - min(heights) == pytest.approx(4.0)
