#!/usr/bin/env python3
"""Writes configs/README.md, the description of the file formats, from the schemas in this folder.

    python3 configs/schema/describe.py            writes it
    python3 configs/schema/describe.py --check    ends with 1 if it is not what the schemas say
"""
import json
import pathlib
import sys

HERE = pathlib.Path(__file__).resolve().parent
PAGE = HERE.parent / "README.md"
UNITS = {"volt": "V", "ampere": "A", "ohm": "Ω", "farad": "F", "henry": "H", "hertz": "Hz", "watt": "W", "siemens": "S",
         "decibel": "dB", "percent": "%", "second": "s", "pure": ""}
KINDS = [
    ("brief", "A brief", "What `antiphase search` reads. Examples: [`briefs`](briefs)."),
    ("design", "A design", "What `antiphase evaluate` and `antiphase spread` read, and what every candidate of a "
                           "search carries. Examples: [`designs`](designs)."),
    ("tolerances", "Tolerances", "What `antiphase spread --tolerances` reads."),
    ("tube", "A tube card", "One type of the library: [`tubes`](tubes)."),
    ("output_valve", "An output valve's card", "What the pair may drive: [`output_valves`](output_valves)."),
]
HEAD = """# The files that antiphase reads

Made from the schemas in [`schema`](schema) by `python3 configs/schema/describe.py`; a test holds both together. An editor
that knows JSON Schema checks and completes while you type, if the file names its schema:
`"$schema": "../schema/brief.schema.json"`.

Values are in SI units. A number is plain (`47000`, `4.7e4`) or text with a prefix and, if wanted, the unit: `"47k"`, `"4k7"`,
`"680"`, `"100n"`, `"1.5mA"`. Members in **bold** must be there. A member that is not listed is an error, with its place and
the nearest name that exists. `/` leads into a member; `[]` stands for every one of a list.

Lists of readings and of parts are CSV: lines that begin with `#` are comments, the first other line names the columns.

| file | columns | example |
|---|---|---|
| curve readings, for `antiphase fit` | `vg_v,va_v,ia_ma` (or `ia_a`) | [`curves`](curves) |
| parts on hand, for `"parts": {"on_hand": …}` of a brief | `kind,value,quantity` (kind: resistor or capacitor) | [`briefs/drawer.csv`](briefs/drawer.csv) |
"""


class Schema:
    def __init__(self, name):
        self.root = json.loads((HERE / f"{name}.schema.json").read_text("utf-8"))

    def opened(self, node):
        """A node with what it refers to laid under it, and the unit that it refers to."""
        unit, merged = None, {}
        for ref in [node] + node.get("allOf", []):
            if "$ref" in ref:
                name = ref["$ref"].rsplit("/", 1)[1]
                inner_unit, inner = self.opened(self.root["definitions"][name])
                unit = UNITS.get(name, inner_unit)
                merged = {**inner, **merged}
        return unit, {**merged, **{k: v for k, v in node.items() if k not in ("$ref",)}}


def text(value):
    return "`" + json.dumps(value, ensure_ascii=False) + "`"


def number_range(node):
    low = node.get("minimum", node.get("exclusiveMinimum"))
    high = node.get("maximum", node.get("exclusiveMaximum"))
    word = lambda v: f"{v:g}".replace("e+0", "e").replace("e-0", "e-").replace("e+", "e")
    above = "above " if "exclusiveMinimum" in node else ""
    below = "below " if "exclusiveMaximum" in node else ""
    if low is not None and high is not None:
        return f"{above}{word(low)} … {below}{word(high)}"
    if low is not None:
        return f"{above or 'from '}{word(low)}"
    return f"{below or 'to '}{word(high)}" if high is not None else ""


def is_sourced(node):
    """A value with the place where it is published: {"value": ..., "source": ...}."""
    return set(node.get("properties", {})) == {"value", "source"}


def is_range(node):
    return set(node.get("properties", {})) == {"from", "to", "step"}


def value_words(schema, node):
    """What may stand there, in a few words."""
    unit, node = schema.opened(node)
    if is_sourced(node):
        return "`{value, source}`: " + value_words(schema, node["properties"]["value"])
    if "const" in node:
        return text(node["const"])
    if "enum" in node:
        if len(node["enum"]) > 8:
            return "a name, see below"
        return ", ".join(text(v) for v in node["enum"])
    for choice in ("oneOf", "anyOf"):
        if choice in node and not node.get("properties"):
            ways = []
            for way in node[choice]:
                words = "a range `from`, `to`, `step`" if is_range(way) else value_words(schema, way)
                if words and words not in ways:
                    ways.append(words)
            return " or ".join(ways)
    kind = node.get("type")
    kinds = kind if isinstance(kind, list) else [kind]
    ways = []
    if "number" in kinds or "integer" in kinds:
        words = " ".join(w for w in (number_range(node), unit or "") if w)
        ways.append(words or ("a whole number" if "integer" in kinds else "a number"))
    elif "string" in kinds:
        ways.append("text")
    if "boolean" in kinds:
        ways.append("`true` or `false`")
    if "array" in kinds:
        each = node.get("items")
        if isinstance(each, dict):
            words = value_words(schema, each)
            ways.append("a list" + (f" of: {words}" if words else ""))
        else:
            ways.append("a list")
    return " or ".join(ways)


def rows_of(schema, node, path, out, note=""):
    _, node = schema.opened(node)
    needed = set(node.get("required", []))
    for name, member in node.get("properties", {}).items():
        if name.startswith("/"):  # a place in a design, told with the object
            continue
        if name == "$schema" or name == "form" or member is False or member is True:
            continue
        here = f"{path}/{name}" if path else name
        _, opened = schema.opened(member)
        shown = f"**`{here}`**" if name in needed else f"`{here}`"
        default = text(opened["default"]) if "default" in opened else ""
        about = opened.get("description", "")
        if is_sourced(opened):
            about = (about + " " + opened["properties"]["value"].get("description", "")).strip()
        meaning = (note + about).replace("|", "\\|").replace("\n", " ")
        out.append((shown, value_words(schema, member), default, meaning))
        below(schema, opened, here, out)


def below(schema, node, path, out):
    """Members of objects that stand there, alone, in lists or as one of several forms."""
    if is_sourced(node):
        return
    if node.get("properties") and not is_range(node):
        rows_of(schema, node, path, out)
    for choice in ("oneOf", "anyOf"):
        ways = [schema.opened(way)[1] for way in node.get(choice, [])]
        objects = [w for w in ways if w.get("properties") and not is_range(w) and w.get("type") == "object"]
        forms = [w["properties"]["form"]["const"] for w in objects if "form" in w["properties"]]
        if forms:
            out.append((f"**`{path}/form`**", ", ".join(text(f) for f in forms), "", "Which of these it is."))
        for number, way in enumerate(objects):
            form = way["properties"].get("form", {}).get("const")
            either = "Either: " if number == 0 else "Or: "
            rows_of(schema, way, path, out, f"`{form}`: " if form else either if len(objects) > 1 else "")
        for way in ways:
            if way.get("type") == "array" and isinstance(way.get("items"), dict):
                below(schema, schema.opened(way["items"])[1], path + "[]", out)
    each = node.get("items")
    if isinstance(each, dict):
        below(schema, schema.opened(each)[1], path + "[]", out)


def long_names(schema, node, path, out):
    """The lists of names that are too long for a table."""
    _, node = schema.opened(node)
    if len(node.get("enum", [])) > 8:
        out.setdefault(tuple(node["enum"]), []).append(path)
    for name, member in node.get("properties", {}).items():
        if isinstance(member, dict):
            long_names(schema, member, f"{path}/{name}" if path else name, out)
    for way in node.get("oneOf", []) + node.get("anyOf", []):
        long_names(schema, way, path, out)
    if isinstance(node.get("items"), dict):
        long_names(schema, node["items"], path + "[]", out)


def page():
    parts = [HEAD]
    for name, title, about in KINDS:
        if not (HERE / f"{name}.schema.json").exists():
            continue
        schema = Schema(name)
        rows = []
        rows_of(schema, schema.root, "", rows)
        seen, unique = set(), []
        for row in rows:
            if row not in seen:
                seen.add(row)
                unique.append(row)
        parts.append(f"## {title}\n\n{about} {schema.root['description']}\n\nSchema: [`schema/{name}.schema.json`]"
                     f"(schema/{name}.schema.json).\n\n| member | may be | left out | meaning |\n|---|---|---|---|\n"
                     + "".join("| " + " | ".join(row) + " |\n" for row in unique))
        lists = {}
        long_names(schema, schema.root, "", lists)
        for names, places in lists.items():
            places = sorted(set(places))
            parts.append("Names for " + ", ".join(f"`{p}`" for p in places) + ": "
                         + ", ".join(f"`{n}`" for n in names) + ".\n")
    return "\n".join(parts)


def main():
    if sys.argv[1:] == ["--check"]:
        if PAGE.read_text("utf-8") == page():
            return 0
        print(f"{PAGE} is not what the schemas say: run python3 configs/schema/describe.py", file=sys.stderr)
        return 1
    PAGE.write_text(page(), "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
