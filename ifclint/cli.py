"""The command line. No logic: it reads arguments, calls the review and sets the exit status."""

import gc
from collections.abc import Collection, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from math import isfinite
from pathlib import Path
from typing import Annotated

import typer

from ifclint.errors import InputError
from ifclint.exit_status import (
    CORRECTIONS,
    NOT_DONE,
    NOTHING_TO_CORRECT,
    RULE_FAILED,
    end,
    of_review,
    status_of,
    stop_at_signals,
)
from ifclint.options import (
    Bcf,
    Bcf3,
    Code,
    CodeQuality,
    JobFile,
    Junit,
    Letter,
    Models,
    Sarif,
    Schedules,
    Summary,
)  # fmt: skip
from ifclint.streams import Progress, prepare_streams, say, tell, terminal_width

app = typer.Typer(
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Reviews the plumbing in IFC building models before anything is built.",
    epilog="Exit status: 0 nothing to correct, 1 corrections required, 2 the review could not be "
    "done, 3 done, but some rule or pack failed.",
)


def _show_version(asked: bool) -> None:
    if asked:
        from ifclint import __version__

        say(f"ifclint {__version__}\n")
        raise typer.Exit(NOTHING_TO_CORRECT)


@app.callback()
def options(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_show_version, is_eager=True, help="Show the version."),
    ] = False,
) -> None: ...


@app.command("review")
def review_command(
    models: Models,
    out: Annotated[
        Path,
        typer.Option("--out", metavar="DIR", help="Folder for the reports.", show_default=False),
    ],
    job: JobFile = None,
    code: Code = None,
    fail_on: Annotated[
        str,
        typer.Option(
            metavar="any|high|new|new-high",
            help="Corrections that end with exit status 1: any, those of high severity, or those "
            "that are new since the --baseline.",
        ),
    ] = "any",
    strict: Annotated[
        bool, typer.Option("--strict", help="Open questions of high severity end with 1 too.")
    ] = False,
    baseline: Annotated[
        Path | None, typer.Option(metavar="OLD.json", help="findings.json of an earlier revision.")
    ] = None,
    packs: Annotated[
        str | None, typer.Option(metavar="PACK,...", help="Only the rules of these packs.")
    ] = None,
    rules: Annotated[str | None, typer.Option(metavar="RULE,...", help="Only these rules.")] = None,
    not_rules: Annotated[
        str | None, typer.Option(metavar="RULE,...", help="All rules but these.")
    ] = None,
    pack_time: Annotated[
        float,
        typer.Option(
            metavar="SECONDS",
            min=0,
            max=86_400,
            help="How long one rule or report of a pack may take; 0: any time, to debug it.",
        ),
    ] = 300.0,
    letter: Letter = False,
    summary: Summary = False,
    schedules: Schedules = False,
    bcf: Bcf = False,
    bcf_3: Bcf3 = False,
    sarif: Sarif = False,
    junit: Junit = False,
    code_quality: CodeQuality = False,
    form: Annotated[
        str,
        typer.Option(
            "--format", metavar="text|json", help="What is printed: a summary, or findings.json."
        ),
    ] = "text",
) -> None:
    """Review the plumbing of a building and write findings.json and report.html."""
    inputs = [*models, job, baseline]
    with _no_earlier_review(out, inputs):
        from ifclint.gate import check_gate
        from ifclint.ifc import check_there

        for path in models:
            check_there(path)  # before anything that takes time is loaded
        check_gate(fail_on, baseline)
        from ifclint.fieldsheet import crew_section
        from ifclint.gate import gated
        from ifclint.packs import load_packs
        from ifclint.report import check_folder, write_reports
        from ifclint.report.exchange import also_written, check_inputs_stay, take_away
        from ifclint.report.terminal import PRINTED, printed
        from ifclint.review import review_with_context

        _known_format(form, PRINTED)
        asked = {
            "letter": letter, "summary": summary, "schedules": schedules, "bcf": bcf,
            "bcf-3.0": bcf_3, "sarif": sarif, "junit": junit, "code-quality": code_quality,
        }  # fmt: skip
        also = also_written([name for name, wanted in asked.items() if wanted], models)
        loaded = load_packs(pack_time).only(
            _names("--packs", packs), _names("--rules", rules), _names("--not-rules", not_rules)
        )
        check_folder(out)
        check_inputs_stay(out, inputs)
        take_away(out, inputs)  # also where this one is killed
        with Progress() as progress:
            done, context = review_with_context(models, job, code, progress, loaded)
            done = gated(done, fail_on, strict, baseline, loaded.not_asked)
            progress("Writing the reports", 0, 1)
            done, for_crew = crew_section(done, context)
            done, written = write_reports(done, out, loaded, also, for_crew)
        take_away(out, [*written, *inputs])
    (say if form == "json" else tell)(printed(done, form, written, terminal_width()))
    raise typer.Exit(of_review(done))


@contextmanager
def _no_earlier_review(out: Path, inputs: Sequence[Path | None]) -> Iterator[None]:
    """Where a review is not done, no report of an earlier one is left that tells of a pass."""
    try:
        yield
    except BaseException:
        from ifclint.report.exchange import take_away

        take_away(out, inputs)
        raise


def _names(option: str, given: str | None) -> list[str]:
    names = [name.strip() for name in (given or "").split(",") if name.strip()]
    if given is not None and not names:
        raise InputError(f"{option} names nothing; write names, or leave it out.")
    return names


def _known_format(form: str, known: Collection[str]) -> None:
    if form not in known:
        raise InputError(f'There is no format "{form}"; write --format {", ".join(known)}.')


@app.command("fieldsheet")
def fieldsheet_command(
    models: Models,
    out: Annotated[
        Path, typer.Option("--out", metavar="DIR", help="Folder for the sheet.", show_default=False)
    ],
    job: JobFile = None,
    code: Code = None,
) -> None:
    """Write what the crew tests, walks and buys before the inspector comes, as a page and a CSV."""
    from ifclint.fieldsheet import field_sheet
    from ifclint.fieldsheet.writing import files
    from ifclint.findings import Verdict
    from ifclint.report import check_folder, write_files
    from ifclint.review import review_with_context

    check_folder(out)
    with Progress() as progress:
        done, context = review_with_context(models, job, code, progress)
    written = write_files(out, files(field_sheet(done, context)))
    tell(f"{done.reason}\n" + "".join(f"Written: {path}\n" for path in written))
    if done.failures:
        raise typer.Exit(RULE_FAILED)
    raise typer.Exit(NOT_DONE if done.verdict is Verdict.NOT_REVIEWABLE else NOTHING_TO_CORRECT)


@app.command("elements")
def elements_command(
    models: Models,
    job: JobFile = None,
    form: Annotated[
        str, typer.Option("--format", metavar="text|csv|json", help="How to write the list.")
    ] = "text",
    only_unknown: Annotated[
        bool, typer.Option("--unknown", help="Only elements with something unknown or doubtful.")
    ] = False,
) -> None:
    """Show how each element was understood, and from where, so that the model can be mended."""
    from ifclint.element_report import FORMATS, as_csv, as_json, as_text, rows
    from ifclint.review import read

    _known_format(form, FORMATS)
    with Progress() as progress:
        model = read(models, job, progress)
    made = rows(model, only_unknown)
    if form == "text":
        say(as_text(made, len(model.elements), model.notes))
    else:
        say(as_csv(made) if form == "csv" else as_json(made))


@app.command("compare")
def compare_command(
    old: Annotated[Path, typer.Argument(metavar="OLD.json", help="findings.json of a review.")],
    new: Annotated[Path, typer.Argument(metavar="NEW.json", help="That of a later revision.")],
    form: Annotated[
        str, typer.Option("--format", metavar="text|json|html", help="How to write it.")
    ] = "text",
) -> None:
    """Show what became of each correction from one revision of a building to the next."""
    from ifclint.comparison import compare
    from ifclint.comparison.reading import read
    from ifclint.comparison.writing import FORMATS, WRITERS

    _known_format(form, FORMATS)
    say(WRITERS[form](compare(read(old), read(new))))


@app.command("batch")
def batch_command(
    where: Annotated[
        Path,
        typer.Argument(
            metavar="BUILDINGS.toml|FOLDER",
            help="A list of buildings; or a folder, in which each model is a building, and each "
            "folder of models.",
        ),
    ],
    out: Annotated[
        Path,
        typer.Option("--out", metavar="DIR", help="Folder for all reports.", show_default=False),
    ],
    code: Code = None,
    workers: Annotated[int, typer.Option(min=1, help="Buildings reviewed at once.")] = 2,
    scheduler: Annotated[
        str | None,
        typer.Option(metavar="ADDRESS", help="Scheduler of a dask cluster to review them on."),
    ] = None,
    memory_gb: Annotated[
        float, typer.Option(min=0, help="Memory that one review may take, GB; 0 for no limit.")
    ] = 0,
    seconds: Annotated[
        float, typer.Option(min=0, help="Time that one review may take, s; 0 for no limit.")
    ] = 0,
    parquet: Annotated[
        bool, typer.Option("--parquet", help="Write all findings as one table too.")
    ] = False,
) -> None:
    """Review many buildings, each into its own folder, with one page over all of them."""
    from ifclint.batch import review_all
    from ifclint.batch.buildings import buildings
    from ifclint.batch.portfolio import portfolio, write, write_parquet
    from ifclint.batch.running import Limits
    from ifclint.report import check_folder

    found = [replace(building, code=code or building.code) for building in buildings(where)]
    check_folder(out)
    if not isfinite(memory_gb) or not isfinite(seconds):
        raise InputError("--memory-gb and --seconds take a number; write 0 for no limit.")
    limits = Limits(round(memory_gb * 1e9), seconds or None)
    with Progress() as progress:
        outcomes = review_all(found, out, limits, workers, scheduler, progress)
    made = portfolio(outcomes, out)
    written = [*write(made, out), *([write_parquet(outcomes, out)] if parquet else [])]
    for row in made.rows:
        tell(f"{row.name}: {row.verdict}, {row.reason}\n")
    tell("\n" + "".join(f"Written: {path}\n" for path in written))
    statuses = {outcome.status for outcome in outcomes}
    raise typer.Exit(
        RULE_FAILED
        if statuses - {NOTHING_TO_CORRECT, CORRECTIONS}
        else max(status or 0 for status in statuses)
    )


@app.command("codes")
def codes_command(
    edition: Annotated[
        str | None, typer.Argument(metavar="CODE", help="One adopted code, e.g. upc-2021.")
    ] = None,
    topic: Annotated[str | None, typer.Option(help="Only the tables on one topic.")] = None,
    table: Annotated[
        str | None, typer.Option(help="One table, with the source of each row.")
    ] = None,
    against: Annotated[
        str | None, typer.Option(metavar="CODE", help="Show where another code differs.")
    ] = None,
    as_csv: Annotated[
        bool, typer.Option("--csv", help="Write a table or differences as CSV.")
    ] = False,
) -> None:
    """List the adopted codes that are built in, a code's tables, one table, or a difference."""
    from ifclint.catalogue import codes_text, differences_text, table_text

    if (table or against) and not edition:
        raise InputError("Name the adopted code as well: ifclint codes CODE --table ... .")
    if edition and against:
        said = differences_text(edition, against, as_csv)
    elif edition and table:
        said = table_text(edition, table, as_csv)
    else:
        said = codes_text(edition, topic)
    say(said.rstrip("\n") + "\n")


@app.command("requirements")
def requirements_command(
    as_ids: Annotated[
        bool,
        typer.Option("--ids", help="As an Information Delivery Specification, for other programs."),
    ] = False,
) -> None:
    """Show what a model must contain for the rules of every installed pack."""
    if as_ids:
        from ifclint.packs import load_packs
        from ifclint.requirements import ids_bytes

        say(ids_bytes(load_packs()).decode())
        return
    from ifclint.catalogue import model_page

    say(model_page() + "\n")


@app.command("rules")
def rules_command() -> None:
    """List the rules of every installed pack with the clauses they rest on."""
    from ifclint.catalogue import rules_text

    text, failed = rules_text()
    say(f"{text}\n")
    raise typer.Exit(RULE_FAILED if failed else NOTHING_TO_CORRECT)


@app.command("packs")
def packs_command() -> None:
    """List the installed rule packs, where each comes from, and what it brings."""
    from ifclint.catalogue import packs_text

    text, failed = packs_text()
    say(f"{text}\n")
    raise typer.Exit(RULE_FAILED if failed else NOTHING_TO_CORRECT)


def main() -> None:
    """The `ifclint` command."""
    prepare_streams()
    stop_at_signals()
    gc.disable()  # a command is short, and all that it makes is of use to its end
    status = status_of(app)
    gc.freeze()  # nor is it gone through once more at the end: the system takes it back as a whole
    end(status)


if __name__ == "__main__":
    main()
