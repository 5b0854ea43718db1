"""docs/assessment.md: every key and method, from the key table and the table of methods."""

from __future__ import annotations

from lodestring.assess.curves import TABLE as CURVES
from lodestring.assess.keys import TABLE
from lodestring.assess.uncertainty import given_spreads, methods

INTRO = """# The assessment, key by key

`lodestring assess FILE --json` prints one JSON object, `assessment` 1: every figure of the set as a fact under a flat
key, the curves, and the findings. A key that is absent was not computed; nothing is NaN; the order is the set file's.

```json
{"assessment": 1, "made_by": {"lodestring": "...", "catalogue": "sha256:..."},
 "inputs": {"set": "sha256:...", "workshop": null, "hand": null, "stock": null, "spools": null},
 "facts": {"pickup.bridge.coil.main.dc_resistance":
   {"value": 0.0, "low": 0.0, "high": 0.0, "unit": "ohm", "basis": "computed", "method": "coil.dc_resistance",
    "source": ["metal.copper"], "at": {"temperature": 293.15}, "warnings": []}},
 "curves": {}, "findings": []}
```

- `low` and `high` bound the 90 per cent interval. A fact that is text has no unit and no interval.
- Units are SI: one of `1 m kg s ohm H F Hz K T N N/m V V.s/m V.s/T Wb W dB cent Pa`.
- `basis`: computed, catalogue, measured or assumed. A computed fact with an assumed input stays computed and lists that
  input in `warnings`.
- `source` names rows of the [catalogue](catalogue.md); `method` a row of the table below.
- Curve points appear with `--curves`.
- `P` is a pickup's name, `C` a coil's, `N` a number counted from 1.

`lodestring assess FILE --why KEY` tells one figure's reason: method, sources, what moves it most, what would narrow it.

## Facts
"""
UNCERTAINTY = """## How an interval is made

Each input has a 90 per cent interval: typed with `±`, taken from the catalogue, or assumed by the table below. A fact
is
worked out again with each input at both ends of its interval; the moves are added in quadrature, each side by itself,
on a
logarithmic scale where the quantity is positive. The method's own spread is added the same way. What several coils
share
(their wire, the hand that winds them) moves them together, so sums and differences are propagated as themselves.
Inductances and hum sensitivity are worked out at the upper end alone of inputs known within three per cent either way;
the lower end is its mirror image on the logarithmic scale.

| value typed without `±` | half-width | why | what narrows it |
| --- | --- | --- | --- |
"""


def page() -> str:
    """The whole page."""
    lines = [INTRO]
    for prefix, keys in TABLE.items():
        lines += [f"### {prefix}.KEY", "", "| key | unit | method | what |", "| --- | --- | --- | --- |"]
        lines += [f"| `{k.name}` | {k.unit or 'text'} | {k.method} | {k.help} |" for k in keys]
        lines.append("")
    lines += ["## Curves", "", "| key | over | unit | what |", "| --- | --- | --- | --- |"]
    for prefix, (over, unit, kinds) in CURVES.items():
        lines += [f"| `{prefix}.{name}` | {over} [{unit}] | {k.unit} | {k.help} |" for name, k in kinds.items()]
    lines += [
        "",
        "## Methods",
        "",
        "| method | how | its own spread | how known | source |",
        "| --- | --- | --- | --- | --- |",
    ]
    for m in methods().values():
        spread = m.spread or "none"
        lines.append(f"| `{m.name}` | {m.sentence} | {spread} | {m.known} | {m.source} |")
    lines += ["", UNCERTAINTY.rstrip("\n")]
    lines += [f"| `{g.match}` | {g.half} | {g.why} ({g.known}) | {g.narrow} |" for g in given_spreads()]
    return "\n".join(lines)
