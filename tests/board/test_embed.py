import base64
import json
from itertools import pairwise

import pytest
from archive_examples import GROUND, ground_archive, noisy_png, png, write_mbtiles

from plotter.board import build_board
from plotter.board.embed import embed_tiles, land_data
from plotter.tiles import Box, open_archive, tiles_in


def noisy(tile):
    return noisy_png(tile.x * 1000 + tile.y)


@pytest.fixture
def archive(tmp_path):
    return open_archive(ground_archive(tmp_path / "ground.mbtiles", image=noisy))


def zooms(images):
    return sorted({int(key.split("/")[0]) for key in images})


def test_with_room_for_all_everything_is_on_board_unchanged(archive):
    found = embed_tiles([archive], GROUND, budget_bytes=50_000_000)
    expected = [tile for zoom in range(9, 13) for tile in tiles_in(GROUND, zoom)]
    assert set(found.images) == {f"{t.zoom}/{t.x}/{t.y}" for t in expected}
    for tile in expected:
        kind, data = found.images[f"{tile.zoom}/{tile.x}/{tile.y}"].split(",")
        assert kind == "data:image/png;base64"
        assert base64.b64decode(data) == noisy(tile)
    assert all(level.left_out == 0 for level in found.report.levels)
    assert found.report.in_words() == (
        f"Ground: {len(expected)} tiles on board; complete to zoom 12.",
    )


@pytest.mark.parametrize("budget", [0, 10_000, 60_000, 200_000, 400_000])
def test_the_budget_holds_and_coarse_levels_come_first(archive, budget):
    found = embed_tiles([archive], GROUND, budget_bytes=budget)
    assert sum(len(uri) for uri in found.images.values()) == found.report.tile_bytes <= budget
    levels = found.report.levels
    for coarse, fine in pairwise(levels):
        assert coarse.left_out == 0 or fine.embedded == 0
    for level in levels:
        total = len(list(tiles_in(GROUND, level.zoom)))
        assert level.embedded + level.left_out == total
    said = " ".join(found.report.in_words())
    assert ("left out" in said) is (len(found.images) < sum(e.tiles for e in archive.coverage))


def test_a_level_that_does_not_fit_keeps_its_middle(archive):
    whole = embed_tiles([archive], GROUND, budget_bytes=50_000_000).images
    coarse = sum(len(uri) for key, uri in whole.items() if not key.startswith("12/"))
    found = embed_tiles([archive], GROUND, budget_bytes=coarse + 60_000)
    kept = [tuple(map(int, key.split("/")[1:])) for key in found.images if key.startswith("12/")]
    every = [(t.x, t.y) for t in tiles_in(GROUND, 12)]
    middle = [sum(values) / len(every) for values in zip(*every, strict=True)]

    def far(tile):
        return (tile[0] - middle[0]) ** 2 + (tile[1] - middle[1]) ** 2

    left = [tile for tile in every if tile not in kept]
    assert kept
    assert max(map(far, kept)) <= min(map(far, left)) + 1.5


def test_archives_elsewhere_add_nothing(archive):
    found = embed_tiles([archive], Box(10.0, 10.0, 10.5, 10.5), budget_bytes=1_000_000)
    assert found.images == {}
    assert found.report.levels == ()
    assert len(found.report.credits) == 2


def test_where_two_archives_have_a_tile_the_first_is_taken(tmp_path):
    paths = [
        ground_archive(tmp_path / f"{n}.mbtiles", [9], image=lambda _, c=n: png((c, c, c)))
        for n in (1, 2)
    ]
    first, second = (open_archive(path) for path in paths)
    found = embed_tiles([second, first], GROUND, budget_bytes=1_000_000)
    for uri in found.images.values():
        assert base64.b64decode(uri.split(",")[1]) == png((2, 2, 2))


def test_an_archive_that_fails_on_the_way_is_named_and_the_rest_goes_on(tmp_path, archive):
    gone = open_archive(ground_archive(tmp_path / "gone.mbtiles"))
    gone.path.unlink()
    found = embed_tiles([gone, archive], GROUND, budget_bytes=50_000_000)
    assert len(found.images) == sum(level.tiles for level in archive.coverage)
    assert any("gone.mbtiles" in words for words in found.report.problems)


def test_an_area_across_180_degrees_gets_both_sides(tmp_path):
    box = Box(-18.0, 177.0, -16.0, 183.0)
    path = tmp_path / "line.mbtiles"
    write_mbtiles(path, [(tile, png()) for tile in tiles_in(box, 6)])
    found = embed_tiles([open_archive(path)], box, budget_bytes=1_000_000)
    assert {key.split("/")[1] for key in found.images} == {"63", "0"}


def test_the_board_carries_the_tiles_and_says_so(archive, example_scene):
    board = build_board(example_scene, archives=[archive], tile_budget_bytes=120_000)
    blocks = {
        name: json.loads(board.html.split(f'id="{name}">')[1].split("</script>")[0])
        for name in ("scene-data", "tile-data")
    }
    assert sum(len(uri) for uri in blocks["tile-data"].values()) <= 120_000
    assert zooms(blocks["tile-data"])[0] == 9
    assert blocks["scene-data"]["mapWords"] == list(board.report.in_words())
    assert "Own survey" in blocks["scene-data"]["credits"]
    assert board.report.budget_bytes == 120_000


def test_the_land_is_the_world_coarsely_and_the_area_finely():
    world, around, area = land_data(Box(43.0, 5.8, 43.3, 6.2))
    assert len(world["land"]) > 50
    for sheet in (world, around, area):
        south, west, high, wide = sheet["box"]
        assert south <= 43_000_000
        assert south + high >= 43_300_000
        assert west <= 5_800_000
        assert west + wide >= 6_200_000
    assert world["box"][0] < around["box"][0] < area["box"][0] < 43_000_000
    assert len(json.dumps([world, around, area])) < 200_000


@pytest.mark.parametrize("view", [Box(89.0, 0.0, 90.0, 9.0), Box(-90.0, -180.0, 90.0, 180.0)])
def test_the_land_of_hard_places(view):
    for sheet in land_data(view):
        assert -90_000_000 <= sheet["box"][0] <= 90_000_000
        assert sheet["box"][2] >= 0
        assert sheet["box"][3] >= 0


def test_where_one_archive_ends_the_next_one_shows(tmp_path):
    """Two made of neighbouring ground: the left half of a tile is one's, the right the other's."""
    import base64
    import io

    from archive_examples import write_mbtiles
    from PIL import Image

    from plotter.tiles import tile_at

    tile = tile_at(47.0, 8.0, 12)
    box = tile.box()
    middle = (box.west_deg + box.east_deg) / 2.0
    archives = []
    for name, colour, west, east in (
        ("a", "red", box.west_deg, middle),
        ("b", "blue", middle, box.east_deg),
    ):
        image = Image.new("RGBA", (256, 256))
        image.paste(colour, (0 if name == "a" else 128, 0, 128 if name == "a" else 256, 256))
        out = io.BytesIO()
        image.save(out, "PNG")
        ring = [
            [west, box.south_deg], [east, box.south_deg], [east, box.north_deg],
            [west, box.north_deg], [west, box.south_deg],
        ]  # fmt: skip
        ground = f'{{"type": "Polygon", "coordinates": [{ring}]}}'
        path = write_mbtiles(
            tmp_path / f"{name}.mbtiles", [(tile, out.getvalue())], {"known_ground": ground}
        )
        archives.append(open_archive(path))
    found = embed_tiles(archives, box, budget_bytes=100_000)
    uri = found.images[f"12/{tile.x}/{tile.y}"]
    image = Image.open(io.BytesIO(base64.b64decode(uri.split(",")[1]))).convert("RGBA")
    assert image.getpixel((10, 100)) == (255, 0, 0, 255)
    assert image.getpixel((250, 100)) == (0, 0, 255, 255)
    said = " ".join(found.report.in_words())
    assert said.count("its data ends within this ground") == 2
