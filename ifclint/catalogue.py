"""What is built in, from the data and metadata themselves: adopted codes and rules."""

import csv
import inspect
import io
from collections.abc import Iterable, Sequence

from ifclint import codes
from ifclint.codes import AdoptedCode, Table
from ifclint.codes.changes import near
from ifclint.codes.compare import differences
from ifclint.codes.provenance import SECTION_RECALLED, value_recalled
from ifclint.engineering.wording import how_many, number_text, wrapped
from ifclint.errors import InputError
from ifclint.packs import Pack, Rule, adopt, load_packs
from ifclint.plumbing.facts import fact

WIDTH = 88


def codes_text(edition: str | None = None, topic: str | None = None) -> str:
    """The adopted codes, or one of them, or its tables on one topic: titles, sizes, memory."""
    names = [edition] if edition else codes.editions()
    return "\n\n".join(_code_text(codes.load(name), topic) for name in names)


def _code_text(code: AdoptedCode, topic: str | None) -> str:
    tables = _tables(code, topic)
    rows, recalled = sum(len(t.rows) for t in tables), sum(t.rows_from_memory for t in tables)
    based = f", on the tables of {code.based_on} where nothing differs" if code.based_on else ""
    lines = [f"{code.id}  {code.title} ({code.publisher}){based}"]
    for name in dict.fromkeys(t.topic for t in tables):
        lines.append(f"  {name}")
        lines += [line for t in tables if t.topic == name for line in _table_lines(t, code)]
    lines.append(f"  {recalled} of {rows} rows rest on memory: check them against the code book.")
    return "\n".join(lines)


def sources_page() -> str:
    """How many rows of each edition and topic rest on memory, were computed or carried over."""
    lines = [
        "# What the code values rest on",
        "",
        "Written from the `source` column of every table. A row counts as from memory where any of "
        "its values is; where only the number of its section was recalled, it counts as that.",
        "",
        "| edition | topic | rows | at least partly from memory | section from memory | computed "
        "| carried over |",
        "|---|---|---|---|---|---|---|",
    ]
    for edition in codes.editions():
        code = codes.load(edition)
        lines += [_sources_line(edition, topic, code) for topic in code.topics]
    return "\n".join(lines) + "\n"


def _sources_line(edition: str, topic: str, code: AdoptedCode) -> str:
    rows = [row for table in code.tables_on(topic) for row in table.rows]
    counts = (
        len(rows),
        sum(value_recalled(row.source) for row in rows),
        sum(SECTION_RECALLED in row.source for row in rows),
        sum(row.source.startswith("computed") for row in rows),
        sum(bool(row.carried_from) for row in rows),
    )
    return f"| {edition} | {topic} | " + " | ".join(map(str, counts)) + " |"


def _tables(code: AdoptedCode, topic: str | None) -> Sequence[Table]:
    if topic is None:
        return [code.table(key) for key in code.tables]
    if topic not in code.topics:
        raise InputError(f'{code.id} has no topic "{topic}": {near(topic, code.topics)}.')
    return code.tables_on(topic)


def _table_lines(table: Table, code: AdoptedCode) -> list[str]:
    memory = f", {table.rows_from_memory} from memory" if table.rows_from_memory else ""
    clause = f" ({table.clause})" if table.clause else ""
    rows = how_many(len(table.rows), "row")
    text = f"{table.key}: {table.title}{clause}, {rows}{_fewer(table, code)}{memory}"
    return wrapped(text, WIDTH, "    ", "      ")


def _fewer(table: Table, code: AdoptedCode) -> str:
    """What an edition's own table leaves out of the one that it stands for."""
    base = codes.load(code.based_on) if code.based_on else None
    if base is None or table.key not in base.tables:
        return ""
    lost = len(base.table(table.key).rows) - len(table.rows)
    return f" ({lost} fewer than in {base.id})" if lost > 0 else ""


def table_text(edition: str, key: str, as_csv: bool = False) -> str:
    """One table with the source of every row, for a terminal or as CSV; of the code, or of a pack
    that is installed."""
    code = codes.load(edition)
    if key not in code.tables:
        code = adopt(load_packs(), code)[1]
    if key not in code.tables:
        raise InputError(f'{code.id} has no table "{key}": {near(key, code.tables)}.')
    table = code.table(key)
    columns = [*table.columns, *(c for c in ("source", "note") if c not in table.columns)]
    rows = [
        [_cell({"source": row.source, "note": row.note}.get(c, row.values.get(c))) for c in columns]
        for row in table.rows
    ]
    if as_csv:
        return _csv([columns, *rows])
    head = f"{table.title}\n{table.clause}; {table.status}\nused by: {table.used_by}\n"
    return f"{head}\n{_columns(columns, rows)}"


def differences_text(edition: str, other: str, as_csv: bool = False) -> str:
    """Every cell, row and table in which two editions differ."""
    columns = ["table", "row", "column", edition, other, f"source {edition}", f"source {other}"]
    rows = [
        [d.table, d.row, d.column, _cell(d.value_a), _cell(d.value_b), d.source_a, d.source_b]
        for d in differences(codes.load(edition), codes.load(other))
    ]
    if as_csv:
        return _csv([columns, *rows])
    if not rows:
        return f"{edition} and {other} do not differ in any value that is built in."
    return _columns(columns[:5], [row[:5] for row in rows])


def _cell(value: object) -> str:
    if value is None:
        return ""
    return number_text(value, 8) if isinstance(value, float) else str(value)


def _csv(lines: Iterable[Sequence[str]]) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(lines)
    return text.getvalue()


def _columns(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Rows under their heads, each column as wide as it needs, empty columns left out."""
    used = [i for i in range(len(heads)) if any(row[i] for row in rows)]
    lines = [[heads[i] for i in used], *([row[i] for i in used] for row in rows)]
    widths = [min(60, max(len(line[k]) for line in lines)) for k in range(len(used))]
    return "\n".join(
        "  ".join(f"{cell:<{width}}" for cell, width in zip(line, widths, strict=True)).rstrip()
        for line in lines
    )


def rules_text() -> tuple[str, bool]:
    """The rules of every installed pack, and whether a pack could not be loaded."""
    packs = load_packs()
    parts = [_pack_text(pack) for pack in packs.loaded if pack.rules]
    parts += [f"{f.pack}: this pack could not be loaded: {f.reason}" for f in packs.failures]
    return "\n\n".join(parts) or "No rule pack is installed.", bool(packs.failures)


def _pack_text(pack: Pack) -> str:
    return "\n".join([f"{pack.name}  {len(pack.rules)} rules", *map(_rule_text, pack.rules)])


def _rule_text(rule: Rule) -> str:
    clauses = _clauses(rule)
    why = " ".join(rule.documentation.split("\n\n")[0].split())
    said = wrapped(f"{why} [{clauses}]", WIDTH, "    ", "    ")
    return "\n".join([f"  {rule.name}: {rule.title} ({rule.severity})", *said])


def packs_text() -> tuple[str, bool]:
    """The installed packs, where each comes from and what it brings; whether one failed."""
    packs = load_packs()
    lines = [line for pack in packs.loaded for line in _pack_lines(pack)]
    for failure in packs.failures:
        lines += [f"{failure.pack}  could not be loaded: {failure.reason}"]
    return "\n".join(lines), bool(packs.failures)


def _pack_lines(pack: Pack) -> list[str]:
    tables = [str(each.folder) for each in pack.tables]
    brings = [
        f"{len(pack.rules)} rule{'s' * (len(pack.rules) > 1)}" if pack.rules else "",
        f"code tables in {', '.join(tables)}" if tables else "",
        f"[{pack.name}] in the job file" if pack.section is not None else "",
        f"facts {', '.join(fact.name for fact in pack.facts)}" if pack.facts else "",
        f"reports {', '.join(form.filename for form in pack.formats)}" if pack.formats else "",
    ]
    said = "; ".join(filter(None, brings)) or "schedules, drawings or nothing"
    return [f"{pack.name}  from {pack.origin}", *wrapped(said, WIDTH, "  ", keep_words=True)]


def _clauses(rule: Rule) -> str:
    """The clauses of a rule; codes that do not make the demand are left out."""
    return "; ".join(_clause(name, clause) for name, clause in rule.clauses.items() if clause)


def _clause(name: str, clause: str) -> str:
    return clause if name == "any" else f"{name.upper()} {clause}"


def rules_page() -> str:
    """The catalogue of rules, pack by pack (Markdown)."""
    lines = [
        "# Rules",
        "",
        "Written from the rules themselves; `ifclint rules` prints the same.",
        "",
    ]
    for pack in filter(lambda pack: pack.rules, load_packs().loaded):
        lines += [f"## {pack.name.capitalize()}", ""]
        for rule in pack.rules:
            clauses = _clauses(rule)
            lines += [f"### {rule.title}", "", f"`{rule.name}`, {rule.severity}. {clauses}.", ""]
            lines += [inspect.cleandoc(rule.documentation), ""]
    return "\n".join(lines)


def model_page() -> str:
    """What a model must tell, pack by pack, from the needs the rules declare (Markdown)."""
    lines = [
        "# What your model must contain",
        "",
        "Written from what each rule declares to need. A rule that lacks one of its facts answers "
        "`unverified` and names the element. Beyond these facts every rule needs the elements "
        "themselves (IfcPipeSegment, IfcPipeFitting, IfcSanitaryTerminal, IfcWasteTerminal and so "
        "on, or their types in IFC2X3) and their joints (IfcRelConnectsPorts between ports, or "
        "ends that meet).",
        "",
        "The smallest model that tells all that drainage needs, for one lavatory, is "
        "[smallest.ifc](../models/smallest.ifc). `ifclint elements MODEL.ifc --unknown` shows what "
        "is not known of your own.",
        "",
        "## Where the drainage leaves",
        "",
        "Draw the sewer connection, joined to the building sewer, in one of these forms; the first "
        "that the model has is taken:",
        "",
        "1. `drainage.outlets` in the job file: the GlobalId of the element where it leaves.",
        '2. An element named for it ("Sewer connection", "Public sewer", "Septic tank"), as '
        "IfcDistributionChamberElement or IfcBuildingElementProxy.",
        "3. A sump (IfcDistributionChamberElement.SUMP), from which the drainage is pumped.",
        "4. An IfcPipeFitting of the type EXIT or ENTRY at the lowest place of its piping, or in a "
        'remodel what is named for its joint to existing piping ("Tie-in", "Connect to existing", '
        '"POC").',
        "5. A chamber or manhole (IfcDistributionChamberElement.MANHOLE, INSPECTIONCHAMBER): the "
        "lowest of its piping.",
        "6. Where there is none of these, an open end that leads out below the lowest floor; the "
        "report states it as an assumption.",
        "",
        "Piping for heating, fire and process, storm piping that does not come down the building, "
        "and the drainage of a road or site without a building, is counted, named and set aside. "
        "So is what is to be demolished or temporary (Pset_*Common.Status, phases, layers, names), "
        "and what is drawn a second time in one place.",
        "",
        "## What a pass needs",
        "",
        "Every fixture with its drain, trap and vent judged, every supplied fixture with its pipe "
        "and pressure, every gas appliance with its line, and nine tenths of the pipes; or the "
        'pack put out of scope in the job file, for example `out_of_scope = ["gas"]`.',
        "",
    ]
    return "\n".join(
        [*lines, *(line for p in load_packs().loaded if p.rules for line in _needs_of(p))]
    )


def _needs_of(pack: Pack) -> list[str]:
    needed: dict[str, list[Rule]] = {}
    for rule in pack.rules:
        for need in rule.needs:
            needed.setdefault(need, []).append(rule)
    lines = [f"## {pack.name.capitalize()}", ""]
    if not needed:
        return [*lines, "Its rules declare none; each finding says what was missing.", ""]
    lines += ["| fact | in IFC terms | asked by |", "|---|---|---|"]
    for need, rules in sorted(needed.items()):
        names = ", ".join(f"`{r.name}`" for r in rules)
        lines.append(f"| {fact(need).words} | {fact(need).remedy} | {names} |")
    return [*lines, ""]
