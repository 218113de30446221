"""The structure of a rig's scene as MVR 1.6 (DIN SPEC 15801:2023-12) gives it, transcribed.

There is no schema file of the standard; its tables name for each node the attributes it must and
may have, and which children how often. They were read in ``mvr-spec.md`` of the public repository
mvrdevelopment/spec (commit 098d379 of 2026-04-08). That the tables' order is the order in which
children should stand is our reading, not a rule of theirs.
"""

import re
import uuid
from dataclasses import dataclass, field
from xml.etree.ElementTree import Element

ONE, MAYBE, ANY = (1, 1), (0, 1), (0, 10**9)
"""How often a child may stand: at least, at most."""


@dataclass(frozen=True)
class Node:
    """What one table says of one node."""

    table: str
    must: dict[str, str] = field(default_factory=dict)
    """Attributes that are required, and what their value is."""
    may: dict[str, str] = field(default_factory=dict)
    children: dict[str, tuple[int, int]] = field(default_factory=dict)
    text: str = ""
    """What stands inside; nothing if unsaid."""


SCENE_OBJECTS = dict.fromkeys(
    [
        *("SceneObject", "GroupObject", "FocusPoint", "Fixture", "Support", "Truss"),
        *("VideoScreen", "Projector"),
    ],
    ANY,
)
STRUCTURE = {
    "GeneralSceneDescription": Node(
        "Table 2",
        {"verMajor": "integer", "verMinor": "integer", "provider": "any", "providerVersion": "any"},
        children={"UserData": MAYBE, "Scene": ONE},
    ),
    "Scene": Node("Tables 6 to 18", children={"AUXData": MAYBE, "Layers": ONE}),
    "AUXData": Node(
        "Tables 6 to 18",
        children={"Class": ANY, "Symdef": ANY, "Position": ANY, "MappingDefinition": ANY},
    ),
    "AUXData/Position": Node("Tables 6 to 18", {"uuid": "uuid", "name": "any"}),
    "AUXData/Class": Node("Tables 6 to 18", {"uuid": "uuid", "name": "any"}),
    "Layers": Node("Tables 6 to 18", children={"Layer": ANY}),
    "Layer": Node(
        "Tables 6 to 18",
        {"uuid": "uuid", "name": "any"},
        children={"Matrix": MAYBE, "ChildList": MAYBE},
    ),
    "ChildList": Node("Tables 6 to 18", children=SCENE_OBJECTS),
    "Fixture": Node(
        "Tables 25 and 26",
        {"uuid": "uuid", "name": "any"},
        {"multipatch": "uuid"},
        {
            "Matrix": MAYBE,
            "Classing": MAYBE,
            "GDTFSpec": MAYBE,
            "GDTFMode": MAYBE,
            "Focus": MAYBE,
            "CastShadow": MAYBE,
            "DMXInvertPan": MAYBE,
            "DMXInvertTilt": MAYBE,
            "Position": MAYBE,
            "Function": MAYBE,
            "FixtureID": ONE,
            "FixtureIDNumeric": ONE,
            "UnitNumber": ONE,
            "ChildPosition": MAYBE,
            "Addresses": MAYBE,
            "Protocols": MAYBE,
            "Alignments": MAYBE,
            "CustomCommands": MAYBE,
            "Overwrites": MAYBE,
            "Connections": MAYBE,
            "Color": MAYBE,
            "CustomIdType": MAYBE,
            "CustomId": MAYBE,
            "Mappings": MAYBE,
            "Gobo": MAYBE,
            "ChildList": MAYBE,
        },
    ),
    "Addresses": Node("Table 50", children={"Address": ANY, "Network": ANY}),
    "Address": Node("Table 51", may={"break": "integer"}, text="address"),
    "Matrix": Node("Table 35", text="matrix"),
    "Classing": Node("Table 26", text="uuid"),
    "GDTFSpec": Node("Table 26", text="file"),
    "GDTFMode": Node("Table 26", text="any"),
    "DMXInvertPan": Node("Table 26", text="boolean"),
    "DMXInvertTilt": Node("Table 26", text="boolean"),
    "Position": Node("Table 26", text="uuid"),
    "Function": Node("Table 26", text="any"),
    "FixtureID": Node("Table 26", text="any"),
    "FixtureIDNumeric": Node("Table 26", text="integer"),
    "UnitNumber": Node("Table 26", text="integer"),
    "Color": Node("Table 26; its form from memory, medium", text="color"),
}
NUMBER = r"-?\d+(?:\.\d+)?"
FORMS = {
    "integer": re.compile(r"\d+"),
    "boolean": re.compile("true|false"),
    "address": re.compile(r"[1-9]\d*|[1-9]\d*\.[1-9]\d{0,2}"),
    "matrix": re.compile(rf"(?:\{{{NUMBER},{NUMBER},{NUMBER}\}}){{4}}"),
    "color": re.compile(f"{NUMBER},{NUMBER},{NUMBER}"),
    "file": re.compile(r".+\.gdtf", re.DOTALL),
    "any": re.compile(".*", re.DOTALL),
    "": re.compile(r"\s*"),
}


def find_faults_of_structure(root: Element) -> list[str]:
    """Return each place where a scene breaks the structure; a node unknown here is one."""
    if root.tag != "GeneralSceneDescription":
        return [f"the root is {root.tag}"]
    return _faults_of(root, root.tag)


def _faults_of(node: Element, path: str) -> list[str]:
    parent, _, tag = path.rpartition("/")
    rules = STRUCTURE.get(f"{parent.rpartition('/')[2]}/{tag}") or STRUCTURE.get(tag)
    if rules is None:
        return [f"{path}: no such node"]
    found = [
        f"{path}: {name} is missing ({rules.table})"
        for name in rules.must
        if name not in node.attrib
    ]
    for name, value in node.attrib.items():
        form = rules.must.get(name) or rules.may.get(name)
        if form is None or not _has_form(value, form):
            found.append(f"{path}: attribute {name} is {value!r} ({rules.table})")
    if not rules.children and not _has_form(node.text or "", rules.text):
        found.append(f"{path}: it says {node.text!r} ({rules.table})")
    found += _faults_of_children(node, path, rules)
    for child in node:
        found += _faults_of(child, f"{path}/{child.tag}")
    return found


def _faults_of_children(node: Element, path: str, rules: Node) -> list[str]:
    tags = [child.tag for child in node]
    found = [f"{path}: {tag} ({rules.table})" for tag in tags if tag not in rules.children]
    for tag, (least, most) in rules.children.items():
        if tag in ("FixtureID", "FixtureIDNumeric") and node.get("multipatch") is not None:
            least = most = 0  # Table 25: a multipatch fixture has no number of its own
        if not least <= tags.count(tag) <= most:
            found.append(f"{path}: {tag} stands {tags.count(tag)} times ({rules.table})")
    order = [list(rules.children).index(tag) for tag in tags if tag in rules.children]
    if node.tag not in ("ChildList", "AUXData") and order != sorted(order):
        found.append(f"{path}: its children stand in another order ({rules.table})")
    if node.tag == "Fixture" and ("GDTFSpec" in tags) > ("GDTFMode" in tags):
        found.append(f"{path}: GDTFSpec without GDTFMode ({rules.table})")
    breaks = [child.get("break", "0") for child in node if child.tag == "Address"]
    if len(set(breaks)) != len(breaks):
        found.append(f"{path}: a break stands twice ({rules.table})")
    return found


def _has_form(value: str, form: str) -> bool:
    if form != "uuid":
        return FORMS[form].fullmatch(value) is not None
    try:
        return str(uuid.UUID(value)) == value.lower() and uuid.UUID(value).int != 0
    except ValueError:
        return False
