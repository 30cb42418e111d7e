// The grid zones that a view holds, cut into cells of one zone and one band; the polar caps into quarters.
// A view and a cell are [south, west, north, east] in degrees; longitudes run on past 180.

var BAND_EDGES = [-90, -80, -72, -64, -56, -48, -40, -32, -24, -16, -8, 0, 8, 16, 24, 32, 40, 48, 56, 64, 72, 84, 90];

function zoneCells(view) {
  var found = [];
  for (var i = 0; i + 1 < BAND_EDGES.length; i += 1) {
    var south = Math.max(view[0], BAND_EDGES[i]), north = Math.min(view[2], BAND_EDGES[i + 1]);
    if (south < north) { found = found.concat(cellsOfBand(south, view[1], north, view[3])); }
  }
  return found;
}

// Where a zone may change: every third meridian, for Norway's and Svalbard's sake. Polar quarters are no
// zones, but within one no line of the grid turns back.
function cellsOfBand(south, west, north, east) {
  var middle = (south + north) / 2, polar = zoneOf(middle, 0) === 0, step = polar ? 90 : 3;
  var found = [], low = west;
  while (low < east) {
    var high = Math.min(east, (Math.floor(low / step) + 1) * step), last = found[found.length - 1];
    var zone = zoneOf(middle, (low + high) / 2);
    if (last && last.zone === zone && !polar) {
      last.box[3] = high;
    } else {
      found.push({
        zone: zone, south: middle < 0, box: [south, low, north, high],
        name: polar ? mgrsOf(middle, (low + high) / 2, 0)[0] : two(zone) + bandOf(middle)
      });
    }
    low = high;
  }
  return found;
}

// The edges between cells, as lines; those of the view itself are none.
function zoneEdges(cells, view) {
  var found = [];
  cells.forEach(function (cell) {
    var b = cell.box;
    if (b[1] > view[1] && (cell.zone || b[1] % 180 === 0)) { found.push([[b[0], b[1]], [b[2], b[1]]]); }
    if (b[0] > view[0]) { found.push([[b[0], b[1]], [b[0], b[3]]]); }
  });
  return found;
}
