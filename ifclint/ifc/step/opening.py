"""Opening a model file: what it is, whether it can be read, and one clear sentence where not."""

import hashlib
import lzma
import re
import struct
import tempfile
import zipfile
import zlib
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from ifclint.errors import InputError
from ifclint.ifc.elements import ModelFile
from ifclint.ifc.step.library import Library
from ifclint.ifc.step.paths import check_there, where
from ifclint.ifc.step.rewriting import without_comments
from ifclint.ifc.step.scanning import LARGEST_SHORT, header_end
from ifclint.ifc.step.text import clean
from ifclint.ifc.step.text_index import TextIndex

LARGEST_UNZIPPED = 8 * 1024**3  # bytes; a zip that holds more is refused
LARGEST_RATIO = 100  # unzipped bytes per zipped byte; IFC text compresses about tenfold
ALWAYS_UNZIPPED = 64 * 1024**2  # bytes; up to this the ratio does not matter
ZIP_BEGINS = (b"PK\x03\x04", b"PK\x05\x06", b"PK\x07\x08")
UNZIPPING_RAISES = (
    zipfile.BadZipFile, zlib.error, lzma.LZMAError, struct.error, RuntimeError, OSError, EOFError,
    ValueError,
)  # fmt: skip
EARLIER_4X3 = ("IFC4X3", "IFC4X3_ADD1", "IFC4X3_TC1")  # alike in all that is read of plumbing
READABLE = ("IFC2X3", "IFC4", "IFC4X3_ADD2", *EARLIER_4X3)
EXPORT_AGAIN = "export it again as IFC2X3, IFC4 or IFC4X3 ADD2"
_SCHEMAS = re.compile(rb"FILE_SCHEMA\s*\(\s*\(([^)]*)\)", re.I)
_WRITTEN = re.compile(rb"FILE_NAME\s*\(\s*'(?:[^']|'')*'\s*,\s*'(\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d)")
_BYTE_ORDER_MARK = b"\xef\xbb\xbf"


@dataclass(frozen=True, slots=True)
class OpenedFile:
    text: TextIndex
    library: Library
    info: ModelFile


@contextmanager
def opened(path: Path) -> Iterator[OpenedFile]:
    """The opened file and what identifies it. Raises InputError where it cannot be read."""
    check_there(path)
    with _as_plain_file(path) as plain:
        data = plain.read_bytes()
        schema = _check_text(data, path)
        with ThreadPoolExecutor(max_workers=1) as beside, _renamed(plain, data, schema) as renamed:
            digest = beside.submit(hashlib.sha256, data)
            plain, data = renamed
            text = _indexed(data, path)
            logs: list[Any] = []  # what the library has to say, as long as it is used
            library = Library(text, plain, lambda source: _parse(source, path, logs))
            sha256 = digest.result().hexdigest()
            info = ModelFile(path.name, sha256, schema, _application(library.rare), written(data))
            yield OpenedFile(text, library, info)


@contextmanager
def _as_plain_file(path: Path) -> Iterator[Path]:
    """The path itself, or a temporary file with the one model a zip holds."""
    with path.open("rb") as file:
        zipped = file.read(4) in ZIP_BEGINS
    if not zipped:
        yield path
        return
    with tempfile.TemporaryDirectory(prefix="ifclint-") as folder:
        target = Path(folder) / "model.ifc"
        _unzip(path, target)
        yield target


@contextmanager
def _renamed(plain: Path, data: bytes, schema: str) -> Iterator[tuple[Path, bytes]]:
    """A file and its text, headed by the name by which the library knows its schema."""
    if schema not in EARLIER_4X3:
        yield plain, data
        return
    head = _SCHEMAS.sub(b"FILE_SCHEMA(('IFC4X3_ADD2')", _header(data), count=1)
    data = head + data[header_end(data) :]
    with tempfile.TemporaryDirectory(prefix="ifclint-") as folder:
        target = Path(folder) / "model.ifc"
        target.write_bytes(data)
        yield target, data


def _unzip(path: Path, target: Path) -> None:
    """The one model of a zip as `target`; the names and paths in the zip are not followed."""
    try:
        with zipfile.ZipFile(path) as archive:
            models = [m for m in archive.infolist() if _is_model(m)]
            if len(models) != 1:
                raise InputError(
                    f"{where(path)} holds {len(models)} .ifc files: put exactly one in it."
                )
            _copy_limited(archive, models[0], target, path)
    except UNZIPPING_RAISES as error:
        raise InputError(
            f"{where(path)} cannot be unzipped ({clean(str(error))}): zip it again, without a "
            f"password."
        ) from error


def _is_model(member: zipfile.ZipInfo) -> bool:
    """Whether a member is named as a model; macOS adds a hidden twin "._model.ifc" to each."""
    name = member.filename.replace("\\", "/").rpartition("/")[2]
    return name.lower().endswith(".ifc") and not name.startswith("._")


def _copy_limited(
    archive: zipfile.ZipFile, member: zipfile.ZipInfo, target: Path, path: Path
) -> None:
    zipped = min(member.compress_size, path.stat().st_size)
    limit = min(LARGEST_UNZIPPED, max(ALWAYS_UNZIPPED, LARGEST_RATIO * zipped))
    written = 0
    with archive.open(member) as source, target.open("wb") as out:
        while block := source.read(1 << 20):
            written += len(block)
            if max(written, member.file_size) > limit:
                raise InputError(
                    f"{where(path)} unzips to more than {limit // 1024**2} MB, which no model of "
                    f"its size does: give the .ifc file itself."
                )
            out.write(block)
    if not written:
        raise InputError(f"{where(path)} holds an empty .ifc file: export it again.")


def _check_text(data: bytes, path: Path) -> str:
    """The schema named in the header, once it is clear that the file is whole and is IFC."""
    head = data[:4096]
    if head.startswith(b"version ") and b"oid sha256:" in head:
        raise InputError(
            f"{where(path)} is the pointer to a large file that was not fetched: fetch the model "
            "itself and review again."
        )
    if b"ISO-10303-21" not in head:
        xml = head.lstrip(_BYTE_ORDER_MARK + b" \r\n").startswith(b"<")
        kind = "is XML, which is not read" if xml else "is not an IFC file"
        raise InputError(f"{where(path)} {kind}: export it as .ifc (STEP text).")
    if head.startswith(_BYTE_ORDER_MARK):
        raise InputError(
            f"{where(path)} begins with a byte order mark, as a text editor puts there: save it "
            f"without one, or export it again."
        )
    schema = _schema(_header(data), path)
    if b"END-ISO-10303-21" not in data[max(0, data.rfind(b"ENDSEC")) :]:
        raise InputError(
            f"{where(path)} is cut short (its end is missing): export or copy it again."
        )
    return schema


def _header(data: bytes) -> bytes:
    return without_comments(data[: header_end(data)])


def _schema(head: bytes, path: Path) -> str:
    """The one schema the header names. Raises InputError where it cannot be read."""
    match = _SCHEMAS.search(head)
    named = re.findall(rb"'([^']*)'", match[1]) if match else []
    if len(named) != 1:
        said = f"{len(named)} schemas" if named else "no schema"
        raise InputError(f"{where(path)} names {said} in its header: {EXPORT_AGAIN}.")
    schema = clean(named[0].decode("latin-1").upper())
    if schema not in READABLE:
        raise InputError(
            f'{where(path)} is written in the schema "{schema}", which cannot be read: '
            f"{EXPORT_AGAIN}."
        )
    return schema


def written(data: bytes) -> str:
    """The date of the header, where it states one as the format has it; else nothing."""
    found = _WRITTEN.search(_header(data))
    try:
        return datetime.fromisoformat(found[1].decode()).isoformat() if found else ""
    except ValueError:
        return ""


def _indexed(data: bytes, path: Path) -> TextIndex:
    try:
        text = TextIndex(data)
    except InputError as error:
        raise InputError(f"{where(path)} cannot be read: {error}; {EXPORT_AGAIN}.") from error
    if text.largest >= LARGEST_SHORT:
        raise InputError(
            f"{where(path)} numbers an instance {text.largest}, more than {LARGEST_SHORT - 1}, the "
            f"largest that is read: {EXPORT_AGAIN}."
        )
    return text


def _quiet_log() -> Any:
    """A log of the library that keeps what it is told instead of printing it."""
    import ifcopenshell.ifcopenshell_wrapper as wrapper

    log: Any = wrapper.logger()
    log.output_format(wrapper.logger.FMT_INMEMORY)
    return log


def _parse(plain: Path, path: Path, logs: list[Any]) -> Any:
    import ifcopenshell

    log = _quiet_log()
    logs.append(log)
    try:
        return ifcopenshell.open(plain, format=".ifc", lazy=True, logger=log)
    except (ifcopenshell.Error, ifcopenshell.SchemaError, OSError, RuntimeError) as error:
        detail = _first_complaint(log)
        raise InputError(
            f"{where(path)} cannot be read: its text breaks the rules of the format{detail}; "
            f"{EXPORT_AGAIN}, or repair that place."
        ) from error


def _first_complaint(log: Any) -> str:
    """Where in the text the parser first complained, in words."""
    said = " ".join(m.message for m in log.log_messages())
    match = re.search(r"Unexpected '?(.{1,20}?)'? at offset (\d+)", said)
    return f' (an unexpected "{clean(match.group(1))}" at byte {match.group(2)})' if match else ""


def _application(ifc: Any) -> str:
    for application in ifc.by_type("IfcApplication")[:1]:
        return clean(f"{application[2] or ''} {application[1] or ''}")
    name = ifc.header.file_name.originating_system
    return clean(name or "")
