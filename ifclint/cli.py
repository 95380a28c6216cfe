"""The command line. No logic: it reads arguments, calls the review and sets the exit status."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from ifclint.errors import InputError

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Reviews the plumbing in IFC building models before anything is built.",
    epilog="Exit status: 0 nothing to correct, 1 corrections required, 2 the review could not be "
    "done, 3 done, but some rule or pack failed.",
)

NOTHING_TO_CORRECT, CORRECTIONS, NOT_DONE, RULE_FAILED = 0, 1, 2, 3


@app.command("review")
def review_command(
    models: Annotated[
        list[Path],
        typer.Argument(metavar="MODEL.ifc", help="The model, or all models of one building."),
    ],
    out: Annotated[
        Path,
        typer.Option("--out", metavar="DIR", help="Folder for the reports.", show_default=False),
    ],
    job: Annotated[
        Path | None,
        typer.Option(
            metavar="JOB.toml",
            help="Job file: adopted code, site pressures, occupancy and whatever no model holds.",
        ),
    ] = None,
    code: Annotated[
        str | None,
        typer.Option(metavar="CODE", help="Adopted code, e.g. upc-2021; outranks the job file."),
    ] = None,
) -> None:
    """Review the plumbing of a building and write findings.json and report.html."""
    from ifclint.report import check_folder, write_reports
    from ifclint.report.text import summary
    from ifclint.review import review

    check_folder(out)
    with _Progress() as progress:
        done = review(models, job, code, progress)
        progress("Writing the reports", 0, 1)
        written = write_reports(done, out)
    typer.echo(summary(done, files=written))
    raise typer.Exit(_exit_status(done))


def _exit_status(done: object) -> int:
    from ifclint.findings import Review, Verdict

    assert isinstance(done, Review)
    if done.failures:
        return RULE_FAILED
    return {
        Verdict.PASS: NOTHING_TO_CORRECT,
        Verdict.CORRECTIONS_REQUIRED: CORRECTIONS,
        Verdict.NOT_REVIEWABLE: NOT_DONE,
    }[done.verdict]


@app.command("codes")
def codes_command() -> None:
    """List the adopted codes that are built in, their tables and how each was sourced."""
    from ifclint.catalogue import codes_text

    typer.echo(codes_text())


@app.command("rules")
def rules_command() -> None:
    """List the rules of every installed pack with the clauses they rest on."""
    from ifclint.catalogue import rules_text

    text, failed = rules_text()
    typer.echo(text)
    raise typer.Exit(RULE_FAILED if failed else NOTHING_TO_CORRECT)


class _Progress:
    """One line on the terminal that says what is being done; silent anywhere else."""

    def __init__(self) -> None:
        self.shown = sys.stderr.isatty()

    def __enter__(self) -> _Progress:
        return self

    def __call__(self, what: str, done: int, total: int) -> None:
        if self.shown:
            share = f" {done:,} of {total:,}" if total > 1 else ""
            sys.stderr.write(f"\r\x1b[K{what}{share} …")
            sys.stderr.flush()

    def __exit__(self, *_: object) -> None:
        if self.shown:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()


def main() -> None:
    """The `ifclint` command: bad input is one sentence and exit status 2."""
    try:
        app()
    except InputError as error:
        typer.echo(f"ifclint: {error}", err=True)
        sys.exit(NOT_DONE)


if __name__ == "__main__":
    main()
