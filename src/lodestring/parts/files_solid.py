"""STEP, STL and 3MF of a part, in millimetres. The same part gives the same bytes: no time and no chance goes in."""

from __future__ import annotations

import io
import re
import zipfile
from xml.sax.saxutils import quoteattr

import numpy as np

from lodestring.parts.kernel import cad
from lodestring.parts.mesh import Mesh
from lodestring.parts.records import Shape
from lodestring.parts.solids import solid_of

STAMP = "2000-01-01T00:00:00"
"""The time that stands in every STEP file."""
DAY = (1980, 1, 1, 0, 0, 0)
"""The time of every entry of a ZIP: the earliest there is."""


def safe(name: str) -> str:
    """A name for files and inside them: small letters, digits and dashes, at most 60, never empty."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:60] or "part"


def step(shape: Shape, name: str) -> bytes:
    """ISO 10303-21 with the kernel's exact faces."""
    b = cad()
    solid = solid_of(shape)
    solid.label = safe(name)
    out = io.BytesIO()
    b.export_step(solid, out, timestamp=STAMP)
    return out.getvalue()


def stl(mesh: Mesh) -> bytes:
    """Binary STL; the head says the unit, which the format cannot."""
    corners = mesh.corners
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normals, axis=1, keepdims=True)
    records = np.zeros(len(corners), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
    records["normal"] = normals / np.where(length > 0.0, length, 1.0)
    records["corners"] = corners
    head = b"binary STL, millimetres".ljust(80, b" ")
    return head + np.uint32(len(corners)).tobytes() + records.tobytes()


_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>'
    "</Types>\n"
)
_RELATIONS = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Target="/3D/3dmodel.model" Id="rel0" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>'
    "</Relationships>\n"
)


def threemf(mesh: Mesh, name: str, title: str) -> bytes:
    """3MF core: one object with its name, in millimetres."""
    points = "".join(f'<vertex x="{x:.6f}" y="{y:.6f}" z="{z:.6f}"/>' for x, y, z in mesh.points.tolist())
    triangles = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.triangles.tolist())
    plain = "".join(c for c in title if c.isprintable())
    model = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<model unit="millimeter" xml:lang="en-US" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">\n'
        f'<resources><object id="1" type="model" name={quoteattr(plain)} partnumber={quoteattr(safe(name))}>'
        f"<mesh><vertices>{points}</vertices><triangles>{triangles}</triangles></mesh></object></resources>\n"
        '<build><item objectid="1"/></build>\n</model>\n'
    )
    entries = {"[Content_Types].xml": _TYPES, "_rels/.rels": _RELATIONS, "3D/3dmodel.model": model}
    return zipped({entry: text.encode() for entry, text in entries.items()})


def zipped(entries: dict[str, bytes]) -> bytes:
    """A ZIP of these entries in their order, every one at the same time and with the same rights."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        for name, data in entries.items():
            entry = zipfile.ZipInfo(name, DAY)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 3
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, data)
    return out.getvalue()
