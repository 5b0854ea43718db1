"""What a harness is refused for: a sentence with file, line and key path, through the command line, exit 2."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from lodestring.cli.main import main
from lodestring.folder.examples import example_text

ONE = 'circuit = "one volume, one tone"\n'
STRAIGHT = 'circuit = "straight to the jack"\n'
OWN = """circuit = "own netlist"
positions = [{ name = "on", closed = [
  ["bridge.main.finish", "jack"], ["bridge.main.start", "ground"],
  ["neck.main.finish", "jack"], ["neck.main.start", "ground"]
] }]
"""


def circuit(name: str) -> str:
    return f'circuit = "{name}"\n'


def part(text: str, name: str = "extra") -> str:
    """An own netlist that is right but for one part."""
    return OWN + f"[harness.part.{name}]\n{text}\n"


RESISTOR = 'kind = "resistor"\nends = ["jack", "ground"]\nresistance = "1M"'
CONTROL = 'kind = "control"\nends = ["jack", "jack", "ground"]\nresistance = "500k"'


def positions(*rows: str) -> str:
    return STRAIGHT + f"positions = [{', '.join(rows)}]\n"


def own_positions(closed: str, more: str = RESISTOR) -> str:
    return (
        f'circuit = "own netlist"\npositions = [{{ name = "on", closed = [{closed}] }}]\n[harness.part.extra]\n{more}\n'
    )


RIGHT = ", ".join(f'["{p}.main.finish", "jack"], ["{p}.main.start", "ground"]' for p in ("bridge", "neck"))
IN_SERIES = 'positions = [{ name = "both", on = ["bridge", "neck"], joined = "series" }]\n'
BOTH = '{ name = "both", on = ["bridge", "neck"] }'

# id: example, lines of [harness], key path that is named, words of the sentence
CASES: dict[str, tuple[str, str, str, str]] = {
    # values
    "a control of 0 ohm": ("heron", ONE + 'volume = { value = "0 ohm" }\n', "harness.volume.value", "above 0"),
    "a control without a value": (
        "heron",
        ONE + 'volume = { taper = "audio" }\n',
        "harness.volume.value",
        "must be given",
    ),
    "a tone control without a capacitor": (
        "heron",
        ONE + 'tone = { value = "250k" }\n',
        "harness.tone.capacitor",
        "must be given",
    ),
    "a tone capacitor of 0": (
        "heron",
        ONE + 'tone = { value = "250k", capacitor = "0 nF" }\n',
        "harness.tone.capacitor",
        "above 0",
    ),
    "a tone capacitor in henry": (
        "heron",
        ONE + 'tone = { value = "250k", capacitor = "22 H" }\n',
        "harness.tone.capacitor",
        "capacitance",
    ),
    "a taper that is none": (
        "heron",
        ONE + 'volume = { value = "250k", taper = "logarithmic" }\n',
        "harness.volume.taper",
        "audio",
    ),
    "a bleed without a capacitor": (
        "heron",
        ONE + 'volume = { value = "250k", bleed = { resistor = "150k" } }\n',
        "harness.volume.bleed.capacitor",
        "must be given",
    ),
    "a cable by its length alone": (
        "heron",
        ONE + 'cable = { length = "5 m" }\n',
        "harness.cable.per_metre",
        'per_metre = "100 pF/m"',
    ),
    "a cable of a mile": (
        "heron",
        ONE + 'cable = { length = "1600 m", per_metre = "100 pF/m" }\n',
        "harness.cable.length",
        "at most 100 m",
    ),
    "a cable in farads": (
        "heron",
        ONE + 'cable = { length = "5 m", per_metre = "500 pF" }\n',
        "harness.cable.per_metre",
        "a capacitance per length",
    ),
    "an input of 0 ohm": ("heron", ONE + 'input = { resistance = "0 ohm" }\n', "harness.input.resistance", "above 0"),
    "a circuit that is none": ("heron", 'circuit = "three volumes"\n', "harness.circuit", "one volume, one tone"),
    "no circuit": ("heron", 'volume = { value = "250k" }\n', "harness.circuit", "must be given"),
    "a string ground in other words": ("heron", ONE + 'strings = "yes"\n', "harness.strings", "grounded"),
    "a misspelt key": ("heron", ONE + 'tune = { value = "250k", capacitor = "22 nF" }\n', "harness.tune", "tone"),
    # controls that a circuit has not
    "a volume on a straight lead": (
        "heron",
        STRAIGHT + 'volume = { value = "250k" }\n',
        "harness.volume",
        "has no control",
    ),
    "a tone where there is one volume": (
        "heron",
        'circuit = "one volume"\ntone = { value = "250k", capacitor = "22 nF" }\n',
        "harness.tone",
        'the circuit "one volume" has volume',
    ),
    "a blend where there is none": ("heron", ONE + 'blend = { value = "500k" }\n', "harness.blend", "has volume, tone"),
    "parts in a ready circuit": (
        "heron",
        ONE + f"[harness.part.extra]\n{RESISTOR}\n",
        "harness.part",
        "remove part",
    ),
    "two volumes for one pickup": (
        "wren",
        'circuit = "two volumes, one tone"\n',
        "harness.circuit",
        "needs two pickups or more; came 1",
    ),
    "a blend of one pickup": ("wren", 'circuit = "blend, one tone"\n', "harness.circuit", "needs two pickups; came 1"),
    "a list of volumes where there is one": (
        "heron",
        ONE + 'volume = [{ value = "250k" }, { value = "250k" }]\n',
        "harness.volume",
        "has one volume control; came a list",
    ),
    "three volumes for two pickups": (
        "heron",
        'circuit = "two volumes, one tone"\nvolume = [{ value = "250k" }, { value = "250k" }, { value = "250k" }]\n',
        "harness.volume",
        "one volume control for each of the 2 pickups; came 3",
    ),
    # positions
    "no positions in the list": ("heron", STRAIGHT + "positions = []\n", "harness.positions", "an empty list"),
    "one name twice": ("heron", positions(BOTH, BOTH), "harness.positions.2.name", '"both" twice'),
    "a name that is no key": (
        "heron",
        positions('{ name = "Both pickups", on = ["bridge", "neck"] }'),
        "harness.positions.1.name",
        "",
    ),
    "nothing is on": (
        "heron",
        positions(BOTH, '{ name = "off", on = [] }'),
        "harness.positions.2",
        "has something on",
    ),
    "on is left out": ("heron", positions(BOTH, '{ name = "off" }'), "harness.positions.2.on", "says what is on"),
    "one thing on twice": (
        "heron",
        positions('{ name = "both", on = ["bridge", "bridge", "neck"] }'),
        "harness.positions.1",
        "each once",
    ),
    "a pickup that is not there": (
        "heron",
        positions(BOTH, '{ name = "middle", on = ["middle"] }'),
        "harness.positions.2.on",
        "(bridge, neck)",
    ),
    "one coil of a pickup with one": (
        "heron",
        positions(BOTH, '{ name = "main", on = ["bridge.main"] }'),
        "harness.positions.2.on",
        '"bridge.main"',
    ),
    "a pickup and its coil": (
        "plover",
        positions('{ name = "odd", on = ["main", "main.front"] }'),
        "harness.positions.1.on",
        "as a whole or by its coils",
    ),
    "reversed, but not on": (
        "heron",
        positions(BOTH, '{ name = "one", on = ["bridge"], reversed = ["neck"] }'),
        "harness.positions.2",
        "reversed names what is on",
    ),
    "a pickup on in no position": (
        "heron",
        positions('{ name = "bridge", on = ["bridge"] }'),
        "harness.positions",
        '"neck" in none',
    ),
    "nodes joined in a ready circuit": (
        "heron",
        positions(BOTH, '{ name = "wild", closed = [["jack", "ground"]] }'),
        "harness.positions.2.closed",
        "only an own netlist joins nodes",
    ),
    "series behind volumes of their own": (
        "heron",
        circuit("two volumes, one tone") + IN_SERIES,
        "harness.positions.1.on",
        "cannot be joined in series",
    ),
    "series in a blend": (
        "heron",
        circuit("blend, one tone") + IN_SERIES,
        "harness.positions.1.on",
        "cannot be joined in series",
    ),
    "on in an own netlist": (
        "heron",
        f'circuit = "own netlist"\npositions = [{BOTH}]\n[harness.part.extra]\n{RESISTOR}\n',
        "harness.positions.1.on",
        "says which nodes are joined",
    ),
    # own netlists: parts
    "an own netlist without parts": ("heron", 'circuit = "own netlist"\n', "harness.part", "has parts"),
    "leads of an own netlist": (
        "heron",
        OWN + f'lead_out = {{ length = "0.4 m", per_metre = "100 pF/m" }}\n[harness.part.extra]\n{RESISTOR}\n',
        "harness.lead_out",
        "has the capacitance of its leads as parts",
    ),
    "a capacitor without a value": (
        "heron",
        part('kind = "capacitor"\nends = ["jack", "ground"]'),
        "harness.part.extra",
        'capacitance = "22 nF"',
    ),
    "a capacitor with a resistance": (
        "heron",
        part('kind = "capacitor"\nends = ["jack", "ground"]\ncapacitance = "1 nF"\nresistance = "1k"'),
        "harness.part.extra",
        "remove resistance",
    ),
    "a resistor without a value": (
        "heron",
        part('kind = "resistor"\nends = ["jack", "ground"]'),
        "harness.part.extra",
        "needs its resistance",
    ),
    "a resistor with a taper": (
        "heron",
        part(RESISTOR + '\ntaper = "audio"'),
        "harness.part.extra",
        "has no taper",
    ),
    "a control with two ends": (
        "heron",
        part('kind = "control"\nends = ["jack", "ground"]\nresistance = "500k"'),
        "harness.part.extra",
        "3 ends: top, wiper, bottom",
    ),
    "a resistor with three ends": (
        "heron",
        part('kind = "resistor"\nends = ["jack", "jack", "ground"]\nresistance = "1k"'),
        "harness.part.extra",
        "2 ends",
    ),
    "both ends on one node": (
        "heron",
        part('kind = "resistor"\nends = ["jack", "jack"]\nresistance = "1k"'),
        "harness.part.extra",
        "joins different nodes",
    ),
    "a control whose track ends where it begins": (
        "heron",
        part('kind = "control"\nends = ["jack", "loose", "jack"]\nresistance = "500k"'),
        "harness.part.extra",
        "two nodes",
    ),
    "a part of 0 ohm": (
        "heron",
        part('kind = "resistor"\nends = ["jack", "ground"]\nresistance = "0 ohm"'),
        "harness.part.extra.resistance",
        "above 0",
    ),
    "a part of a kind that is none": (
        "heron",
        part('kind = "valve"\nends = ["jack", "ground"]'),
        "harness.part.extra.kind",
        "resistor",
    ),
    "a node in capitals": (
        "heron",
        part('kind = "resistor"\nends = ["JACK", "ground"]\nresistance = "1k"'),
        "harness.part.extra.ends.1",
        "",
    ),
    # own netlists: how they hang together
    "a node that nothing else touches": (
        "heron",
        part('kind = "capacitor"\nends = ["jack", "nowhere"]\ncapacitance = "1 nF"'),
        "harness.part.extra",
        "every node joins at least two things; came nowhere",
    ),
    "a coil's end that does not exist": (
        "heron",
        own_positions(RIGHT + ', ["middle.main.start", "ground"]'),
        "harness.positions.1",
        "middle.main.start, which no part touches",
    ),
    "a pair of one node": (
        "heron",
        own_positions(RIGHT + ', ["jack", "jack"]'),
        "harness.positions.1",
        "jack twice",
    ),
    "a selector that shorts the jack": (
        "heron",
        own_positions(RIGHT + ', ["jack", "ground"]'),
        "harness.positions.1",
        "ties the output (jack) to ground (ground)",
    ),
    "a coil with no way to ground": (
        "heron",
        own_positions('["bridge.main.finish", "jack"], ["bridge.main.start", "ground"]'),
        "harness.circuit",
        "every",
    ),
    "two parts between two loose nodes": (
        "heron",
        part('kind = "resistor"\nends = ["one", "two"]\nresistance = "1k"')
        + '[harness.part.other]\nkind = "resistor"\nends = ["one", "two"]\nresistance = "1k"\n',
        "harness.part.extra",
        "every part has a way to ground",
    ),
}


def run(text: str, folder: Path) -> tuple[int, str, str]:
    path = folder / "bad.toml"
    path.write_text(text, encoding="utf-8")
    result = CliRunner().invoke(main, ["assess", str(path), "--only", "none"])
    return result.exit_code, result.stdout, result.stderr


def with_harness(name: str, lines: str) -> str:
    text = example_text(name)
    return text[: text.index("[harness]")] + "[harness]\n" + lines


@pytest.mark.parametrize(("name", "lines", "place", "words"), CASES.values(), ids=CASES)
def test_a_harness_that_makes_no_sense_gets_a_sentence_with_its_line_and_key(
    name: str, lines: str, place: str, words: str, tmp_path: Path
) -> None:
    text = with_harness(name, lines)
    code, out, err = run(text, tmp_path)
    assert (code, out) == (2, ""), err
    assert "Traceback" not in err
    told = [line for line in err.splitlines() if f" {place}" in line or line.split(": ")[1:2] == [place]]
    assert told, f"{place} is not named in: {err}"
    assert words in told[0]
    number = int(told[0].removeprefix(f"{tmp_path / 'bad.toml'}:").partition(":")[0])
    first = text.splitlines().index("[harness]") + 1
    assert first <= number <= len(text.splitlines()), "the line lies in the harness"


def test_what_the_refusals_start_from_is_right(tmp_path: Path) -> None:
    for name, lines in (
        ("heron", ONE),
        ("heron", STRAIGHT),
        ("heron", positions(BOTH)),
        ("heron", part(RESISTOR)),
        ("heron", part(CONTROL)),
        ("heron", own_positions(RIGHT)),
        ("wren", ONE),
        ("plover", positions('{ name = "one", on = ["main.front"] }', '{ name = "other", on = ["main.rear"] }')),
    ):
        code, _, err = run(with_harness(name, lines), tmp_path)
        assert code == 0, err
