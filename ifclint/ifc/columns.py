"""Arguments of many instances as one array, where all are written alike."""

from __future__ import annotations

from typing import Any

GUID = 25  # characters of a GlobalId with its quotes, and the comma after it
_DIGITS = b"0123456789"
_OF_REALS = _DIGITS + b".-+E"
_UNSET_IS_REF = bytes.maketrans(b"$", b"#")
_UNSET_IS_ZERO = bytes.maketrans(b"$", b"0")


def references(arguments: list[bytes], width: int) -> Any:
    """Instance numbers (n, width) of arguments like b"#1,$,#3"; None where one is otherwise."""
    text = b",".join(arguments)
    expected = b",".join([b"#"] * (width * len(arguments)))
    if text.translate(_UNSET_IS_REF, _DIGITS) != expected:
        return None
    return _parsed(text.translate(_UNSET_IS_ZERO, b"#"), width, len(arguments), "int64")


def lists(arguments: list[bytes], before: int) -> Any:
    """Arguments like b"#1,$,(#2,#3)" with so many before the list: an array of these (n, before),
    how many members each list has, and all members in turn; None where one is otherwise."""
    import numpy as np

    text = b",".join(arguments)
    sizes = [a.count(b",") + 1 - before for a in arguments]
    if min(sizes, default=0) < 1:
        return None
    rows = {k: b"#," * before + b"(" + b",".join([b"#"] * k) + b")" for k in set(sizes)}
    if text.translate(_UNSET_IS_REF, _DIGITS) != b",".join([rows[k] for k in sizes]):
        return None
    total = before * len(sizes) + sum(sizes)
    flat = _parsed(text.translate(_UNSET_IS_ZERO, b"#()"), 1, total, "int64")
    if flat is None:
        return None
    counts = np.array(sizes)
    firsts = np.concatenate(([0], np.cumsum(counts + before)[:-1]))
    heads = firsts[:, None] + np.arange(before)
    member = np.ones(total, dtype=bool)
    member[heads.ravel()] = False
    return flat[heads, 0], counts, flat[member, 0]


def after_guid(arguments: list[bytes]) -> list[bytes]:
    """Arguments without the GlobalId they begin with."""
    return [a[GUID:] for a in arguments]


def reals(arguments: list[bytes], width: int) -> Any:
    """Numbers (n, width) of arguments like b"(0.,0.,1.)"; None where one is otherwise."""
    text = b",".join(arguments)
    row = b"(" + b"," * (width - 1) + b")"
    if text.translate(None, _OF_REALS) != b",".join([row] * len(arguments)):
        return None
    return _parsed(text.translate(None, b"()"), width, len(arguments), "float64")


def _parsed(text: bytes, width: int, rows: int, dtype: str) -> Any:
    import warnings

    import numpy as np

    with warnings.catch_warnings():
        warnings.simplefilter("error")  # how text that is no number is told
        try:
            found = np.fromstring(text.decode("ascii"), dtype=dtype, sep=",")
        except (DeprecationWarning, ValueError):
            return None
    return found.reshape(rows, width) if found.size == rows * width else None


def rows_of(ids: Any, wanted: Any) -> Any:
    """Row of each wanted number among ascending ids, -1 where it is not among them."""
    import numpy as np

    if not len(ids):
        return np.full(len(wanted), -1)
    at = np.minimum(np.searchsorted(ids, wanted), len(ids) - 1)
    return np.where(ids[at] == wanted, at, -1)
