import shutil
import sqlite3
from contextlib import closing

import pytest
from archive_examples import GROUND, ground_archive, png, write_mbtiles

from plotter.errors import TileError
from plotter.tiles import (
    Box,
    TileId,
    archives_in,
    covering,
    open_archive,
    read_tiles,
    tile_at,
    tile_ids,
    tiles_in,
)


@pytest.fixture
def archive(tmp_path):
    return open_archive(ground_archive(tmp_path / "ground.mbtiles"))


def test_an_archive_says_what_it_is(archive):
    assert archive.name == "Ground"
    assert archive.attribution == "Own survey"
    assert [level.zoom for level in archive.coverage] == [9, 10, 11, 12]
    for level in archive.coverage:
        assert level.tiles == len(list(tiles_in(GROUND, level.zoom)))


def test_a_tile_is_found_where_it_lies_on_the_ground(tmp_path):
    here = tile_at(43.14, 6.07, 12)
    south = TileId(12, here.x, here.y + 1)
    path = tmp_path / "two.mbtiles"
    write_mbtiles(path, [(here, png((1, 2, 3))), (south, png((9, 9, 9)))])
    archive = open_archive(path)
    assert dict(read_tiles(archive, [south, here])) == {
        here: png((1, 2, 3)),
        south: png((9, 9, 9)),
    }
    level = archive.coverage[0]
    assert (level.north_y, level.south_y) == (here.y, here.y + 1)


def test_tiles_that_are_not_there_are_passed_over(archive):
    assert list(read_tiles(archive, [TileId(3, 0, 0)])) == []


def test_ids_over_a_box_are_those_of_the_grid(archive):
    box = Box(43.05, 5.95, 43.15, 6.05)
    assert list(tile_ids(archive, box, 12)) == list(tiles_in(box, 12))
    assert tile_ids(archive, Box(10.0, 10.0, 11.0, 11.0), 12) == ()


def test_ids_over_180_degrees(tmp_path):
    box = Box(-18.0, 177.0, -16.0, 183.0)
    path = tmp_path / "line.mbtiles"
    write_mbtiles(path, [(tile, png()) for tile in tiles_in(box, 6)])
    archive = open_archive(path)
    assert set(tile_ids(archive, box, 6)) == set(tiles_in(box, 6))
    assert archive.covers(Box(-17.5, 178.0, -16.5, 179.0))
    assert archive.covers(Box(-17.5, -182.0, -16.5, -181.0))


def test_the_file_is_opened_without_leaving_a_trace(tmp_path):
    folder = tmp_path / "stick"
    folder.mkdir()
    archive = open_archive(ground_archive(folder / "ground.mbtiles"))
    before = (folder / "ground.mbtiles").read_bytes()
    list(read_tiles(archive, tile_ids(archive, GROUND, 12)))
    assert [entry.name for entry in folder.iterdir()] == ["ground.mbtiles"]
    assert (folder / "ground.mbtiles").read_bytes() == before


def test_a_name_with_awkward_characters_opens(tmp_path):
    path = ground_archive(tmp_path / "höhe #1?%20 map.mbtiles")
    assert open_archive(path).covers(GROUND)


def test_jpeg_and_webp_are_read(tmp_path):
    tile = tile_at(43.14, 6.07, 8)
    for name, data in (("j", b"\xff\xd8\xff\xe0rest"), ("w", b"RIFF\0\0\0\0WEBPrest")):
        path = write_mbtiles(tmp_path / f"{name}.mbtiles", [(tile, data)])
        assert open_archive(path).coverage[0].tiles == 1


def broken(folder):
    """Every kind of file that cannot be used, by the words that must name it."""
    tile = tile_at(43.14, 6.07, 8)
    (folder / "text.mbtiles").write_text("this is no archive, but it is long enough " * 40)
    (folder / "empty.mbtiles").write_bytes(b"")
    with closing(sqlite3.connect(folder / "foreign.mbtiles")) as base:
        base.execute("CREATE TABLE recipes (name text)")
        base.commit()
    write_mbtiles(folder / "none.mbtiles", [])
    write_mbtiles(folder / "vector.mbtiles", [(tile, b"\x1f\x8bxx")], {"format": "pbf"})
    write_mbtiles(folder / "gz.mbtiles", [(tile, b"\x1f\x8bxx")])
    write_mbtiles(folder / "numbers.mbtiles", [(tile, 17)])
    whole = ground_archive(folder / "cut.mbtiles")
    whole.write_bytes(whole.read_bytes()[:3000])
    (folder / "folder.mbtiles").mkdir()
    return {
        "text.mbtiles": "cannot be read as MBTiles",
        "empty.mbtiles": "cannot be read as MBTiles",
        "foreign.mbtiles": "cannot be read as MBTiles",
        "none.mbtiles": "holds no tiles",
        "vector.mbtiles": "vector tiles",
        "gz.mbtiles": "not PNG, JPEG or WebP",
        "numbers.mbtiles": "not PNG, JPEG or WebP",
        "cut.mbtiles": "cannot be read as MBTiles",
        "folder.mbtiles": "no map archive",
    }


def test_one_bad_file_never_stops_the_rest(tmp_path):
    expected = broken(tmp_path)
    ground_archive(tmp_path / "good.MBTILES")
    (tmp_path / "notes.txt").write_text("not an archive")
    found = archives_in(tmp_path)
    assert [archive.path.name for archive in found.archives] == ["good.MBTILES"]
    assert {refused.path.name for refused in found.refused} == set(expected)
    for refused in found.refused:
        assert expected[refused.path.name] in refused.reason
        assert refused.path.name in refused.reason


def test_archives_come_in_the_order_of_their_names(tmp_path):
    for name in ("b", "a", "c"):
        ground_archive(tmp_path / f"{name}.mbtiles", zooms=[9], name=name)
    assert [archive.name for archive in archives_in(tmp_path).archives] == ["a", "b", "c"]


def test_only_archives_over_the_area_are_chosen(archive, tmp_path):
    far = Box(-40.0, 170.0, -39.0, 171.0)
    path = tmp_path / "far.mbtiles"
    write_mbtiles(path, [(tile, png()) for tile in tiles_in(far, 10)])
    both = (archive, open_archive(path))
    assert [found.path.name for found in covering(both, GROUND)] == ["ground.mbtiles"]
    assert [found.path.name for found in covering(both, far)] == ["far.mbtiles"]


def test_missing_files_and_folders_are_named(tmp_path, archive):
    with pytest.raises(TileError, match="gone"):
        open_archive(tmp_path / "gone.mbtiles")
    with pytest.raises(TileError, match="nowhere"):
        archives_in(tmp_path / "nowhere")
    shutil.move(archive.path, tmp_path / "moved.mbtiles")
    with pytest.raises(TileError, match=r"ground\.mbtiles"):
        list(read_tiles(archive, [TileId(9, 0, 0)]))


def test_rows_outside_the_grid_are_left_out(tmp_path):
    path = ground_archive(tmp_path / "odd.mbtiles", zooms=[9])
    with closing(sqlite3.connect(path)) as base:
        base.execute("INSERT INTO tiles VALUES (2, 99, 99, ?)", (png(),))
        base.execute("INSERT INTO tiles VALUES (77, 0, 0, ?)", (png(),))
        base.commit()
    assert [level.zoom for level in open_archive(path).coverage] == [9]
