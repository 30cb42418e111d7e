"""What a board shows in the browser: when it is painted, and the inks on its canvas."""

PAINTED = "performance.getEntriesByName('board-painted').length > 0"
# Colours of the page's own sheet: counts those pixels of the report canvas near a place.
COUNT_INK = """([lat, lon, reach, ink]) => {
  const canvas = board_map.getPane("sheet").querySelector("canvas");
  const frame = canvas.getBoundingClientRect();
  const home = board_map.getContainer().getBoundingClientRect();
  const at = board_map.latLngToContainerPoint([lat, lon]);
  const ratio = canvas.width / frame.width;
  const x = (at.x + home.left - frame.left) * ratio, y = (at.y + home.top - frame.top) * ratio;
  const data = canvas.getContext("2d")
    .getImageData(x - reach, y - reach, 2 * reach + 1, 2 * reach + 1).data;
  const name = getComputedStyle(document.documentElement).getPropertyValue("--" + ink).trim();
  const want = [1, 3, 5].map((i) => parseInt(name.slice(i, i + 2), 16));
  let found = 0;
  for (let i = 0; i < data.length; i += 4) {
    if (data[i + 3] > 200 && want.every((v, k) => Math.abs(v - data[i + k]) < 12)) { found++; }
  }
  return found;
}"""


def until_painted(page, most_s=120.0):
    """Wait for the mark; not by the page's own evaluation of a text, which its policy forbids."""
    for _ in range(int(most_s / 0.05)):
        if page.evaluate(PAINTED):
            return
        page.wait_for_timeout(50)
    raise AssertionError("the board was not painted")


def ink(page, place, name, reach=4):
    return page.evaluate(COUNT_INK, [place.lat_deg, place.lon_deg, reach, name])
