"""A drain that is stubbed out before a fixture, whose trap is set later, is no vent."""

from __future__ import annotations

import pytest

from ifclint.ifc.elements import System
from ifclint.plumbing import Plumbing, Service, build
from ifclint.testing import read_network

# A lavatory whose stub, in a tee below its vent, is the upper end of a tub's wet vent.
LAVATORY = "lavatory L box=-1,-1.5,2.5,1,0,2.8 0 -0.6 2.2"
STUB = "pipe 1.5 STUB 0 -0.5 1.6 > 0 0.4 1.58"
WET_VENT = f"""
storey L1 0
storey=L1
{LAVATORY}
{STUB}
cap 1.5 CAP 0 -0.5 1.6
sanitary-tee TEE at=0,0.5,1.578 0 0.4 1.58 > 0 0.5 1.5 > 0 0.5 1.7
pipe 2 VENT system=vent 0 0.5 1.7 > 0 0.5 13
vent-through-roof VTR system=vent 0 0.5 13
pipe 2 DROP 0 0.5 1.5 > 0 0.5 -0.9
long-sweep SWEEP at=0,0.5,-1 0 0.5 -0.9 > 0.1 0.5 -1.002
pipe 2 WET 0.1 0.5 -1.002 > 3 0.5 -1.06
bathtub B 3 3 0
pipe 1.5 TAIL 3 3 0 > 3 3 -0.5
p-trap 1.5 T 3 3 -0.5 > 3 2.7 -0.99
pipe 1.5 ARM 3 2.7 -0.99 > 3 0.5 -1.06
pipe 3 MAIN 3 0.5 -1.06 > 20 0.5 -1.4
sewer-connection SEWER 20 0.5 -1.4
"""


def seen(*changes: tuple[str, str]) -> Plumbing:
    text = WET_VENT
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return build(read_network(text))


def service(plumbing: Plumbing, guid: str) -> Service:
    elements = plumbing.network.elements
    return plumbing.services[next(i for i, e in enumerate(elements) if e.guid == guid)]


@pytest.mark.parametrize("closed", [True, False])
def test_a_stub_before_a_fixture_is_its_drain(closed: bool) -> None:
    """Capped for the test or open: what enters there is not drawn."""
    plumbing = seen() if closed else seen(("cap 1.5 CAP 0 -0.5 1.6\n", ""))
    assert {service(plumbing, name) for name in ("STUB", "DROP", "WET")} == {Service.DRAIN}
    assert service(plumbing, "VENT") is Service.VENT
    names = [plumbing.network.elements[i].guid for i in plumbing.unknown_inflows]
    assert names == ["CAP" if closed else "STUB"]


@pytest.mark.parametrize(
    ("box", "expected"),
    [
        ("-1,-2.4,2.5,1,-1.45,2.8", Service.DRAIN),  # 29 cm before the stub
        ("-1,-2.5,2.5,1,-1.55,2.8", Service.VENT),
        ("-1,-1.5,3.55,1,0,4", Service.DRAIN),  # 59 cm above it
        ("-1,-1.5,3.65,1,0,4", Service.VENT),
        ("-1,-1.5,0.5,1,0,1.55", Service.VENT),  # it ends above the fixture
    ],
)
def test_how_near_a_fixture_its_drain_is_stubbed_out(box: str, expected: Service) -> None:
    assert service(seen(("-1,-1.5,2.5,1,0,2.8", box)), "WET") is expected


def test_a_fixture_that_drains_elsewhere_has_no_stub() -> None:
    drained = f"{LAVATORY}\npipe 1.5 OWN 0 -0.6 2.2 > 0 -3 -1\nsewer-connection S2 0 -3 -1"
    assert service(seen((LAVATORY, drained)), "WET") is Service.VENT


def test_a_stub_of_the_vent_is_none() -> None:
    vent = STUB.replace("STUB", "STUB system=vent")
    plumbing = seen((STUB, vent), ("cap 1.5 CAP", "cap 1.5 CAP system=vent"))
    assert plumbing.network.elements[1].system is System.VENT
    assert service(plumbing, "WET") is Service.VENT
