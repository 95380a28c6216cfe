"""Devices against backflow: which kind an element is, by what it is called."""

from enum import StrEnum
from itertools import chain

from ifclint.ifc.elements import Element, Role
from ifclint.plumbing.words import says


class Device(StrEnum):
    """Kinds of protection, named as the code tables name them."""

    AIR_GAP = "air-gap"
    REDUCED_PRESSURE = "reduced-pressure"
    PRESSURE_VACUUM_BREAKER = "pressure-vacuum-breaker"
    HOSE_VACUUM_BREAKER = "hose-vacuum-breaker"
    ATMOSPHERIC_VACUUM_BREAKER = "atmospheric-vacuum-breaker"
    VENTED = "dual-check-vented"
    DUAL_CHECK = "dual-check"
    DOUBLE_CHECK = "double-check"
    VACUUM_BREAKER = "vacuum breaker"  # of which kind is not stated
    UNSTATED = "backflow preventer"  # of which kind is not stated


_WORDS = {  # the first that is said; numbers are those of ASSE standards
    Device.AIR_GAP: ("air gap", "airgap", "asse 1004"),
    Device.REDUCED_PRESSURE: (
        "reduced pressure", "rpz", "rpzd", "rpbp", "rpba", "rppbp", "rpda", "rpdf", "rp assembly",
        "rp backflow", "rp bfp", "rp device", "asse 1013", "asse 1047", "systemtrenner ba",
        "disconnecteur",
    ),
    Device.PRESSURE_VACUUM_BREAKER: (
        "pressure vacuum breaker", "pvb", "spill resistant", "spill proof", "svb", "asse 1020",
        "asse 1056",
    ),
    Device.HOSE_VACUUM_BREAKER: (
        "hose bibb vacuum breaker", "hose bib vacuum breaker", "hose connection vacuum breaker",
        "hose connection backflow preventer", "hose vacuum breaker", "hbvb", "hcvb", "asse 1011",
        "asse 1019", "asse 1052",
    ),
    Device.ATMOSPHERIC_VACUUM_BREAKER: (
        "atmospheric vacuum breaker", "avb", "asse 1001", "asse 1055*",  # within a dispenser
    ),
    Device.VENTED: (
        "intermediate atmospheric", "atmospheric vent", "vented backflow*", "vented dual check",
        "asse 1012", "asse 1022", "asse 1081",
    ),
    Device.DUAL_CHECK: ("dual check", "asse 1024", "asse 1032"),
    Device.DOUBLE_CHECK: (
        "double check", "dcva", "dcda", "dcdf", "dcbp", "dc assembly", "asse 1015", "asse 1048",
    ),
}  # fmt: skip
NAMED_VB = (
    "vacuum breaker", "with vb", "w/ vb", "w vb", "rompevacio", "rompevacío", "casse-vide",
    "casse vide", "rohrbelüfter", "rohrbelufter", "quebra-vácuo", "quebra-vacuo", "quebra vacuo",
)  # fmt: skip
PROTECTION = (*NAMED_VB, "backflow*", "back flow*", "anti siphon*", "antisiphon*")
_ANY = (*chain.from_iterable(_WORDS.values()), *PROTECTION)
_OF_KIND = {"vacuum-breaker": Device.VACUUM_BREAKER, "backflow-preventer": Device.UNSTATED}
_VACUUM_BREAKERS = {
    Device.PRESSURE_VACUUM_BREAKER, Device.ATMOSPHERIC_VACUUM_BREAKER, Device.HOSE_VACUUM_BREAKER,
}  # fmt: skip


def device_of(element: Element) -> Device | None:
    """What an element is against backflow, or is stated to have; None for neither, as a check
    valve alone."""
    if element.role is Role.PIPE:  # named after the device it leads to
        return None
    is_named = says(element, _ANY)
    told = (device for device, words in _WORDS.items() if is_named and says(element, words))
    if (named := next(told, None)) is not None:
        return named
    if element.predefined_type == "DOUBLECHECK":
        return Device.DOUBLE_CHECK
    if element.kind in _OF_KIND:
        return _OF_KIND[element.kind]
    if not is_named:
        return None
    return Device.VACUUM_BREAKER if says(element, NAMED_VB) else Device.UNSTATED


def serves(device: Device, allowed: frozenset[str]) -> bool | None:
    """Whether a device is one of those allowed; None where its kind is told too little."""
    if device.value in allowed:
        return True
    if device is Device.VACUUM_BREAKER:
        fits = {d.value for d in _VACUUM_BREAKERS} & allowed
        return True if len(fits) > 1 else None if fits else False
    if device is Device.UNSTATED:
        return None
    return False
