"""Where lines of clear water enter the drainage: by a joint with what drains more than they."""

from __future__ import annotations

import pytest

from ifclint.plumbing.drainage.clear_water import joined_lines
from ifclint.testing import context_of

LINE = """
system=sanitary_drainage
pan-drain 1 PN  12 18 3
pipe 1 K1  12 18 3 > 12 18 2
pipe 1 K2  12 18 2 > {end}
lavatory L  4 12 2
p-trap 1.5 T  4 12 2 > 4.5 12 1.8
pipe 1.5 A  4.5 12 1.8 > 6 12 1.7
pipe 3 D1  6 12 1.7 > 6 12 0.1
pipe 3 D2  6 12 0.1 > 12 12 0
pipe 3 D3  12 12 0 > 60 12 -1
sewer-connection SC  60 12 -1
"""


@pytest.mark.parametrize(
    ("end", "entered"), [("12 40 1", []), ("12 12 0", ["PN into D3"]), ("60 12 -1", ["PN into SC"])]
)
def test_a_line_enters_only_what_takes_other_water_or_leads_to_the_sewer(
    end: str, entered: list[str]
) -> None:
    lines = joined_lines(context_of(LINE.format(end=end), "ipc-2021"))
    assert [f"{line.element.guid} into {line.into.guid}" for line in lines] == entered


def test_an_exit_fitting_ends_in_the_air() -> None:
    drawn = LINE.format(end="12 40 1") + "exit X  12 40 1\n"
    assert joined_lines(context_of(drawn, "ipc-2021")) == []
