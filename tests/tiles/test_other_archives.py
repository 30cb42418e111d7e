"""PMTiles, written by the format's own package, and folders of tiles: the same as MBTiles.

Rows of a folder count from the north (TileJSON 3.0.0, scheme xyz).
"""

import gzip
import json
import os

import numpy as np
import pytest
from archive_examples import GROUND, ground_archive, noisy_png, png
from pmtiles.tile import Compression, TileType, tileid_to_zxy, zxy_to_tileid
from pmtiles.writer import Writer

from plotter.board.embed import embed_tiles
from plotter.cli import main
from plotter.errors import TileError
from plotter.tiles import (
    Box,
    TileId,
    archives_in,
    image_type,
    open_archive,
    read_tiles,
    tile_at,
    tile_ids,
    tiles_in,
)
from plotter.tiles.pmtiles_archive import hilbert_cells

TOLD = {"name": "Ground", "attribution": "<a href='x'>Own</a> survey"}


def write_pmtiles(path, tiles, told=None, kind=TileType.PNG):
    header = {"tile_type": kind, "tile_compression": Compression.NONE}
    with path.open("wb") as file:
        writer = Writer(file)
        for tile, image in sorted(tiles, key=lambda row: zxy_to_tileid(*_zxy(row[0]))):
            writer.write_tile(zxy_to_tileid(*_zxy(tile)), image)
        writer.finalize(header, TOLD if told is None else told)
    return path


def write_folder(path, tiles, told=None, suffix=".png"):
    for tile, image in tiles:
        file = path / str(tile.zoom) / str(tile.x) / f"{tile.y}{suffix}"
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(image)
    (path / "metadata.json").write_text(json.dumps(TOLD if told is None else told))
    return path


WRITERS = {"pmtiles": write_pmtiles, "folder": write_folder}


def _zxy(tile):
    return tile.zoom, tile.x, tile.y


def ground_tiles(zooms=range(9, 13)):
    return [
        (tile, png((tile.x % 256, tile.y % 256, tile.zoom)))
        for zoom in zooms
        for tile in tiles_in(GROUND, zoom)
    ]


def path_for(kind, folder, name="ground"):
    return folder / (f"{name}.pmtiles" if kind == "pmtiles" else name)


@pytest.fixture(params=WRITERS)
def archive(request, tmp_path):
    path = path_for(request.param, tmp_path)
    return open_archive(WRITERS[request.param](path, ground_tiles()))


def test_they_say_and_hold_the_same_as_mbtiles(archive, tmp_path):
    tiles = dict(ground_tiles())
    same = open_archive(ground_archive(tmp_path / "same.mbtiles", image=tiles.__getitem__))
    assert (archive.name, archive.attribution) == ("Ground", "Own survey")
    assert archive.coverage == same.coverage
    assert archive.covers(GROUND)
    for box in (GROUND, Box(43.05, 5.95, 43.15, 6.05), Box(10.0, 10.0, 11.0, 11.0)):
        for zoom in (3, 9, 12):
            assert tile_ids(archive, box, zoom) == tile_ids(same, box, zoom)
    wanted = [TileId(3, 0, 0), *tiles, TileId(12, 0, 0)]
    assert list(read_tiles(archive, wanted)) == list(tiles.items())


def test_they_go_into_a_board_as_they_are(archive):
    found = embed_tiles([archive], GROUND, budget_bytes=10**7)
    assert len(found.images) == len(ground_tiles())
    assert "Own survey" in found.report.credits


@pytest.mark.parametrize("kind", WRITERS)
def test_ids_over_180_degrees(kind, tmp_path):
    box = Box(-18.0, 177.0, -16.0, 183.0)
    tiles = [(tile, png()) for tile in tiles_in(box, 6)]
    found = open_archive(WRITERS[kind](path_for(kind, tmp_path), tiles))
    assert set(tile_ids(found, box, 6)) == set(tiles_in(box, 6))


def test_places_on_the_curve_are_those_of_the_package():
    rng = np.random.default_rng(4)
    for zoom in (0, 1, 2, 5, 13, 22, 30):
        places = rng.integers(0, 4**zoom, 200).tolist()
        x, y = hilbert_cells(np.array(places), zoom)
        first = (4**zoom - 1) // 3
        expected = [tileid_to_zxy(first + place) for place in places]
        assert list(zip(x.tolist(), y.tolist(), strict=True)) == [(c, r) for _, c, r in expected]


def test_runs_of_one_image_and_leaves_are_followed(tmp_path):
    """A whole level of sea is one entry; many different tiles need directories below the root."""
    sea = png((150, 180, 220))
    tiles = [(TileId(5, x, y), sea) for x in range(32) for y in range(32)]
    tails = np.random.default_rng(1).integers(0, 9999, 128 * 128).astype(str).tolist()
    tiles += [
        (TileId(7, x, y), png() + f"{x},{y},{'-' * (int(tail) % 400)}{tail}".encode())
        for (x, y), tail in zip(np.ndindex(128, 128), tails, strict=True)
    ]
    path = write_pmtiles(tmp_path / "big.pmtiles", tiles)
    leaf_bytes = int.from_bytes(path.read_bytes()[48:56], "little")
    assert leaf_bytes > 0
    found = open_archive(path)
    assert [(level.zoom, level.tiles) for level in found.coverage] == [(5, 1024), (7, 16384)]
    level = found.coverage[0]
    assert (level.west_x, level.east_x, level.north_y, level.south_y) == (0, 31, 0, 31)
    for tile in (TileId(5, 31, 7), TileId(7, 0, 127), TileId(7, 77, 3)):
        assert dict(read_tiles(found, [tile])) == {tile: dict(tiles)[tile]}


def test_opening_leaves_no_trace(archive):
    list(read_tiles(archive, tile_ids(archive, GROUND, 12)))
    assert len(list(archive.path.parent.iterdir())) == 1


def test_an_archive_that_changes_or_goes_is_noticed(tmp_path):
    path = write_pmtiles(tmp_path / "a.pmtiles", ground_tiles([9]))
    first = open_archive(path)
    write_pmtiles(path, ground_tiles([10]))
    assert tile_ids(first, GROUND, 9) == ()
    path.unlink()
    with pytest.raises(TileError, match=r"a\.pmtiles"):
        tile_ids(first, GROUND, 9)
    with pytest.raises(TileError, match=r"a\.pmtiles"):
        list(read_tiles(first, [TileId(9, 0, 0)]))


def test_one_bad_archive_never_stops_the_rest(tmp_path):
    tile = tile_at(43.14, 6.07, 8)
    good = write_pmtiles(tmp_path / "good.pmtiles", ground_tiles([9])).read_bytes()
    write_folder(tmp_path / "good folder", ground_tiles([9]))
    (tmp_path / "text.pmtiles").write_text("this is no archive, but it is long enough " * 40)
    (tmp_path / "empty.pmtiles").write_bytes(b"")
    (tmp_path / "short.pmtiles").write_bytes(b"PMTiles\x03")
    (tmp_path / "old.pmtiles").write_bytes(good[:7] + b"\x02" + good[8:])
    (tmp_path / "cut.pmtiles").write_bytes(good[:-10])
    (tmp_path / "directory.pmtiles").mkdir()
    write_pmtiles(tmp_path / "vector.pmtiles", [(tile, b"\x1f\x8bxx")], kind=TileType.MVT)
    write_pmtiles(tmp_path / "words.pmtiles", [(tile, b"no image")])
    write_folder(tmp_path / "vector folder", [(tile, b"\x1f\x8bxx")], suffix=".pbf")
    write_folder(tmp_path / "words folder", [(tile, b"no image")])
    write_folder(tmp_path / "south folder", [(tile, png())], {"scheme": "tms"})
    write_folder(tmp_path / "tms folder", [(tile, png())])
    (tmp_path / "tms folder" / "tilemapresource.xml").write_text("<TileMap/>")
    (tmp_path / "empty folder" / "3").mkdir(parents=True)
    (tmp_path / "photographs").mkdir()
    found = archives_in(tmp_path)
    assert [each.path.name for each in found.archives] == ["good folder", "good.pmtiles"]
    expected = {
        "text.pmtiles": "not a PMTiles archive",
        "empty.pmtiles": "cannot be opened",
        "short.pmtiles": "damaged",
        "old.pmtiles": "another version than 3",
        "cut.pmtiles": "cut short",
        "directory.pmtiles": "no map archive",
        "vector.pmtiles": "vector tiles",
        "words.pmtiles": "not PNG, JPEG or WebP",
        "vector folder": "vector tiles",
        "words folder": "not PNG, JPEG or WebP",
        "south folder": "from the south",
        "tms folder": "from the south",
        "empty folder": "holds no tiles",
    }
    assert {refused.path.name for refused in found.refused} == set(expected)
    for refused in found.refused:
        assert expected[refused.path.name] in refused.reason
        assert refused.path.name in refused.reason


def test_truncated_at_any_length_is_an_error(tmp_path):
    whole = write_pmtiles(tmp_path / "whole.pmtiles", ground_tiles([9, 10])).read_bytes()
    path = tmp_path / "cut.pmtiles"
    for length in [*range(140), *range(140, len(whole), 37)]:
        path.write_bytes(whole[:length])
        with pytest.raises(TileError, match=r"cut\.pmtiles"):
            open_archive(path)


def test_flipped_bytes_never_escape(tmp_path):
    """Whatever one wrong byte does, it ends in a TileError or in images and nothing else."""
    whole = write_pmtiles(tmp_path / "whole.pmtiles", ground_tiles([9, 10])).read_bytes()
    start = int.from_bytes(whole[56:64], "little")
    path = tmp_path / "flipped.pmtiles"
    refused = 0
    for at in range(start + 8):
        for mask in (0x01, 0x80, 0xFF):
            path.write_bytes(whole[:at] + bytes([whole[at] ^ mask]) + whole[at + 1 :])
            try:
                found = open_archive(path)
                for zoom in (9, 10):
                    read = list(read_tiles(found, tile_ids(found, GROUND, zoom)))
                    assert all(image_type(image) for _, image in read)
            except TileError:
                refused += 1
    # Directories and metadata are under a checksum (gzip): there nothing passes, save its header.
    assert refused > 3 * (start - 127) * 0.9


def handmade(path, directory, leaf=b"", tiles=b"\x89PNG\r\n\x1a\n"):
    """A PMTiles whose packed directories are anything."""
    header = bytearray(127)
    header[:8] = b"PMTiles\x03"
    sections = [(127, len(directory)), (0, 0), (127 + len(directory), len(leaf))]
    sections.append((127 + len(directory) + len(leaf), len(tiles)))
    for k, (offset, length) in enumerate(sections):
        header[8 + 16 * k : 16 + 16 * k] = offset.to_bytes(8, "little")
        header[16 + 16 * k : 24 + 16 * k] = length.to_bytes(8, "little")
    header[97:100] = bytes([2, 1, 2])
    path.write_bytes(bytes(header) + directory + leaf + tiles)
    return path


def directory(*rows):
    """Rows of tile id, run, length and offset, all below 128."""
    columns = [[row[k] for row in rows] for k in range(4)]
    numbers = [len(rows), *np.diff([0, *columns[0]]).tolist(), *columns[1], *columns[2]]
    return gzip.compress(bytes([*numbers, *(offset + 1 for offset in columns[3])]), mtime=0)


def test_hostile_directories_end(tmp_path):
    good = handmade(tmp_path / "good.pmtiles", directory((5, 1, 8, 0)))
    assert open_archive(good).coverage[0].tiles == 1
    # A leaf that names itself.
    leaf = directory((0, 0, 0, 0))
    leaf = directory((0, 0, len(leaf), 0))
    circle = handmade(tmp_path / "circle.pmtiles", directory((0, 0, len(leaf), 0)), leaf)
    with pytest.raises(TileError, match="too deeply"):
        open_archive(circle)
    # A small file that unpacks to a hundred million bytes.
    bomb = handmade(tmp_path / "bomb.pmtiles", gzip.compress(bytes(100_000_000), mtime=0))
    with pytest.raises(TileError, match="far too large"):
        open_archive(bomb)
    # A tile behind the end of the file, and a run beyond the finest level.
    behind = handmade(tmp_path / "behind.pmtiles", directory((5, 1, 9, 0)))
    with pytest.raises(TileError, match="outside the file"):
        open_archive(behind)
    long_run = bytes([1, 5]) + b"\xff" * 9 + b"\x01" + bytes([8, 1])
    with pytest.raises(TileError, match="outside the file or the grid"):
        open_archive(handmade(tmp_path / "run.pmtiles", gzip.compress(long_run)))
    # A run over two levels is a run on each.
    both = open_archive(handmade(tmp_path / "both.pmtiles", directory((3, 10, 8, 0))))
    assert [(level.zoom, level.tiles) for level in both.coverage] == [(1, 2), (2, 8)]


def test_hostile_names_are_no_tiles(tmp_path):
    path = write_folder(tmp_path / "map", [(TileId(3, 4, 2), png())])
    for name in ("03", "+3", "-1", "٣", "31", "99999999999", "1e1", "..3", "3 "):
        (path / name / "4").mkdir(parents=True)
        (path / name / "4" / "2.png").write_bytes(png())
    for name in ("02.png", "2@2x.png", "-2.png", "8.png", "9" * 200 + ".png", "٢.png", ".png"):
        (path / "3" / "4" / name).write_bytes(png())
    (path / "3" / "8").mkdir()
    (path / "3" / "8" / "1.png").write_bytes(png())
    secret = tmp_path / "secret.png"
    secret.write_bytes(noisy_png(1))
    (path / "3" / "4" / "5.png").symlink_to(secret)
    (path / "3" / "5").symlink_to(tmp_path, target_is_directory=True)
    (tmp_path / "1.png").write_bytes(png())
    os.mkfifo(path / "3" / "4" / "6.png")
    found = open_archive(path)
    assert [(level.zoom, level.tiles) for level in found.coverage] == [(3, 1)]
    world = Box(-85.0, -180.0, 85.0, 180.0)
    assert tile_ids(found, world, 3) == (TileId(3, 4, 2),)
    wanted = list(tiles_in(world, 3))
    assert dict(read_tiles(found, wanted)) == {TileId(3, 4, 2): png()}


def test_a_folder_takes_each_kind_of_image_and_png_first(tmp_path):
    path = write_folder(tmp_path / "map", [(TileId(3, 4, 2), png())])
    (path / "3" / "4" / "2.jpg").write_bytes(b"\xff\xd8\xff\xe0rest")
    (path / "3" / "4" / "3.JPG").write_bytes(b"\xff\xd8\xff\xe0rest")
    (path / "3" / "4" / "4.webp").write_bytes(b"RIFF\0\0\0\0WEBPrest")
    (path / "metadata.json").write_text("[" * 100_000)
    found = open_archive(path)
    assert found.name == "map"
    assert found.coverage[0].tiles == 3
    wanted = [TileId(3, 4, y) for y in (2, 3, 4)]
    kinds = [image_type(image) for _, image in read_tiles(found, wanted)]
    assert kinds == ["image/png", "image/jpeg", "image/webp"]


def test_the_list_names_every_kind(tmp_path, capsys):
    write_pmtiles(tmp_path / "a.pmtiles", ground_tiles())
    write_folder(tmp_path / "b", ground_tiles())
    with pytest.raises(SystemExit, match=r"^0$"):
        main(["tiles", "list", "--tiles", str(tmp_path)])
    out = capsys.readouterr().out
    assert "a.pmtiles: Ground" in out
    assert "b: Ground" in out
    assert out.count("credit: Own survey") == 2
