"""What is built in, from the data and metadata themselves: adopted codes and rules."""

from __future__ import annotations

import textwrap

from ifclint import codes
from ifclint.codes import AdoptedCode, Table
from ifclint.packs import Pack, Rule, load_packs

WIDTH = 88


def codes_text() -> str:
    """The adopted codes with their tables, and how many rows of each rest on memory."""
    return "\n\n".join(_code_text(codes.load(name)) for name in codes.editions())


def _code_text(code: AdoptedCode) -> str:
    tables = [code.table(key) for key in code.tables]
    rows, recalled = sum(len(t.rows) for t in tables), sum(t.rows_from_memory for t in tables)
    lines = [f"{code.id}  {code.title} ({code.publisher})"]
    lines += [line for table in tables for line in _table_lines(table)]
    lines.append(f"  {recalled} of {rows} rows rest on memory: check them against the code book.")
    return "\n".join(lines)


def _table_lines(table: Table) -> list[str]:
    memory = f", {table.rows_from_memory} from memory" if table.rows_from_memory else ""
    text = f"{table.title} ({table.clause}): {len(table.rows)} rows{memory}"
    return textwrap.wrap(text, WIDTH, initial_indent="  ", subsequent_indent="    ")


def rules_text() -> tuple[str, bool]:
    """The rules of every installed pack, and whether a pack could not be loaded."""
    packs = load_packs()
    parts = [_pack_text(pack) for pack in packs.loaded]
    parts += [f"{f.pack}: this pack could not be loaded: {f.reason}" for f in packs.failures]
    return "\n\n".join(parts) or "No rule pack is installed.", bool(packs.failures)


def _pack_text(pack: Pack) -> str:
    return "\n".join([f"{pack.name}  {len(pack.rules)} rules", *map(_rule_text, pack.rules)])


def _rule_text(rule: Rule) -> str:
    clauses = "; ".join(f"{name.upper()} {clause}" for name, clause in rule.clauses.items())
    why = rule.documentation.split("\n\n")[0].replace("\n", " ")
    text = f"{' '.join(why.split())} [{clauses}]"
    said = textwrap.wrap(text, WIDTH, initial_indent="    ", subsequent_indent="    ")
    return "\n".join([f"  {rule.name}: {rule.title} ({rule.severity})", *said])
