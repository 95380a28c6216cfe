"""What an element is said to be, in the words of its author."""

import pytest

from ifclint.ifc.elements import Element
from ifclint.plumbing.words import denies_text, says, says_text


@pytest.mark.parametrize(
    ("text", "word", "said"),
    [
        ("Threaded end", "threaded", True),
        ("unthreaded end", "threaded", False),
        ("not threaded", "threaded", False),
        ("no_threads", "thread", False),
        ("without thread", "thread", False),
        ("non-return valve", "return", False),
        ("No. 3 hanger", "hanger", True),
        ("Casino hanger", "hanger", True),
        ("no-hub coupling", "no hub", True),
        ("Heater, non-condensing", "condensing", False),
        ("Heater_Non_Condensing", "condensing", False),
        ("Heater, not a condensing one", "condensing", False),
        ("Therme, nicht kondensierend", "kondensierend*", False),
        ("Therme ohne Brennwerttechnik", "brennwert*", False),
        ("kein Brennwertgerät", "brennwert*", False),
        ("Brennwertgerät", "brennwert*", True),
        ("chaudière sans condensation", "condensation", False),
        ("chaudière non à condensation", "condensation", False),
        ("chaudière à condensation", "condensation", True),
        ("calentador sin condensación", "condensación", False),
        ("caldaia senza condensazione", "condensazione", False),
        ("ketel, niet condenserend", "condenserend*", False),
        ("not direct vent, condensing", "condensing", True),
        ("Piano hanger", "hanger", True),
        ("PipeHangers", "hanger", True),
        ("EHD 13", "ehd", True),
    ],
)
def test_a_word_is_said_whole_and_not_denied(text: str, word: str, said: bool) -> None:
    assert says_text(text, (word,)) is said


@pytest.mark.parametrize("where", ["name", "type_name", "object_type"])
def test_name_type_and_object_type_are_read(where: str) -> None:
    element = Element("guid", **{where: "Heater, FVIR"})
    assert says(element, ("fvir",))
    assert not says(Element("guid"), ("fvir",))


@pytest.mark.parametrize(
    ("text", "denied"),
    [
        ("Heater, non-condensing", True),
        ("Heater, condensing", False),
        ("Heater", False),
        ("not direct vent, condensing", False),
        ("Therme nicht kondensierend", True),
    ],
)
def test_what_is_said_not_to_be_so(text: str, denied: bool) -> None:
    assert denies_text(text, ("condensing", "kondensierend*")) is denied
