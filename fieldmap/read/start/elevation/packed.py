"""What a packed point cloud (LAZ) claims of its chunks, before a library unpacks them.

The library makes room for what a file claims and only then looks whether it is there; a
claim of thirty gigabytes ends the process without a word. Layout: LASzip's specification
of the chunk table and of layered chunks (compressor 3).
"""

import struct
from collections.abc import Sequence
from typing import Any, BinaryIO

import lazrs

_OFFSET = struct.Struct("<q")  # where the chunk table begins, before the first chunk
_TABLE = struct.Struct("<II")  # version, number of chunks
_ITEMS_AT = 32  # bytes of the LASzip record before its number of items
_ITEM = struct.Struct("<HHH")  # kind, bytes of a point, version
_LAYERED = 3
# Layers of each kind of item: a point of LAS 1.4, its colours, colours with infrared, wave
# packets. Extra bytes (kind 14) have a layer for each byte.
_LAYERS = {10: 9, 11: 1, 12: 2, 13: 1}
_EXTRA_BYTES = 14
_COUNT_BYTES = 4


def claims_too_much(source: BinaryIO, header: Any, size: int) -> bool:
    """Whether chunks or their layers claim more bytes or points than the file can hold.

    Parameters
    ----------
    source
        The file, open for reading; its place moves.
    header
        Its header as laspy reads it.
    size
        Bytes of the file.

    Raises
    ------
    ValueError, struct.error, lazrs.LazrsError
        When there is no chunk table, or it cannot be read.
    """
    (record,) = header.vlrs.get("LasZipVlr")
    points_at = header.offset_to_point_data
    if _chunks(source, points_at, size) > min(int(header.point_count), size):
        return True
    layout = lazrs.LazVlr(record.record_data)
    source.seek(points_at)
    chunks = lazrs.read_chunk_table(source, layout)
    if sum(byte_count for _points, byte_count in chunks) > size:
        return True
    if struct.unpack_from("<H", record.record_data)[0] != _LAYERED:
        return False
    layers = _layers(record.record_data)
    return _layers_overflow(
        source, points_at + _OFFSET.size, chunks, layout.item_size(), layers
    )


def _chunks(source: BinaryIO, points_at: int, size: int) -> int:
    """How many chunks the table claims."""
    source.seek(points_at)
    (table_at,) = _OFFSET.unpack(source.read(_OFFSET.size))
    if table_at == -1:  # written by a program that could not go back: at the very end
        source.seek(size - _OFFSET.size)
        (table_at,) = _OFFSET.unpack(source.read(_OFFSET.size))
    if not points_at < table_at <= size - _TABLE.size:
        raise ValueError(f"its chunk table cannot begin at byte {table_at}")
    source.seek(table_at)
    _version, chunks = _TABLE.unpack(source.read(_TABLE.size))
    return int(chunks)


def _layers(record: bytes) -> int:
    (items,) = struct.unpack_from("<H", record, _ITEMS_AT)
    at = range(_ITEMS_AT + 2, _ITEMS_AT + 2 + items * _ITEM.size, _ITEM.size)
    kinds = [_ITEM.unpack_from(record, each) for each in at]
    return sum(
        each_bytes if kind == _EXTRA_BYTES else _LAYERS.get(kind, 0)
        for kind, each_bytes, _version in kinds
    )


def _layers_overflow(
    source: BinaryIO,
    begins: int,
    chunks: Sequence[tuple[int, int]],
    point_bytes: int,
    layers: int,
) -> bool:
    """Whether the layers of any chunk claim more bytes than the chunk has."""
    sizes = struct.Struct(f"<{layers}I")
    head = point_bytes + _COUNT_BYTES + sizes.size
    for _points, byte_count in chunks:
        source.seek(begins + point_bytes + _COUNT_BYTES)
        claimed = sizes.unpack(source.read(sizes.size))
        if head + sum(claimed) > byte_count:
            return True
        begins += byte_count
    return False
