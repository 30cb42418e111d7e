// Lines of the UTM grid, or of UPS near a pole, inside one cell of a view, and the names of its squares.

var SQUARE_M = 100000;
var MOST_STEPS = 256;

function onGround(cell, easting, northing) {
  var place = placeOfGrid(cell.zone, easting, northing, cell.south), middle = (cell.box[1] + cell.box[3]) / 2;
  return [place.lat, place.lon + 360 * Math.round((middle - place.lon) / 360)];
}

function holds(box, place) {
  return place[0] >= box[0] && place[0] <= box[2] && place[1] >= box[1] && place[1] <= box[3];
}

// Least and greatest easting and northing on a cell's rim, and a little beyond: [west, east, low, high].
function gridRange(cell) {
  var b = cell.box, found = [Infinity, -Infinity, Infinity, -Infinity];
  for (var i = 0; i <= 16; i += 1) {
    var lat = b[0] + (b[2] - b[0]) * i / 16, lon = b[1] + (b[3] - b[1]) * i / 16;
    [[lat, b[1]], [lat, b[3]], [b[0], lon], [b[2], lon]].forEach(function (place) {
      var grid = gridOf(place[0], place[1], cell.zone);
      // The equator counts as northern ground: a southern cell keeps its own false northing.
      var northing = grid.northing + (cell.zone && cell.south && !grid.south ? figures.utm.southFalseNorthing : 0);
      found = [Math.min(found[0], grid.easting), Math.max(found[1], grid.easting),
        Math.min(found[2], northing), Math.max(found[3], northing)];
    });
  }
  var across = (found[1] - found[0]) / 50, up = (found[3] - found[2]) / 50;
  return [found[0] - across, found[1] + across, found[2] - up, found[3] + up];
}

// So many straight pieces keep within a quarter of a pixel of the line: its height over a chord is the
// chord squared over eight radii, times the tangent of the latitude, on this map.
function stepsFor(cell, length, pixel) {
  var steep = Math.tan(Math.max(Math.abs(cell.box[0]), Math.abs(cell.box[2])) * DEGREE) + 0.5;
  return Math.min(Math.max(Math.ceil(length * Math.sqrt(steep / (2 * EARTH.a * pixel))), 2), MOST_STEPS);
}

// Lines so many metres apart; `pixel` is how many metres one is wide.
function linesOfCell(cell, spacing, pixel) {
  var range = gridRange(cell), found = [];
  [true, false].forEach(function (easting) {
    var low = easting ? range[0] : range[2], high = easting ? range[1] : range[3];
    var start = easting ? range[2] : range[0], length = (easting ? range[3] : range[1]) - start;
    var steps = stepsFor(cell, length, pixel);
    for (var n = Math.ceil(low / spacing); n * spacing <= high; n += 1) {
      var places = [];
      for (var i = 0; i <= steps; i += 1) {
        var along = start + length * i / steps;
        places.push(easting ? onGround(cell, n * spacing, along) : onGround(cell, along, n * spacing));
      }
      partsInside(places, cell.box).forEach(function (part) {
        found.push({ cell: cell, easting: easting, value: n * spacing, places: part });
      });
    }
  });
  return found;
}

// The parts of a path inside a box.
function partsInside(places, box) {
  var found = [], open = null;
  for (var i = 0; i + 1 < places.length; i += 1) {
    var a = places[i], b = places[i + 1], share = Math.abs(b[1] - a[1]) < 90 ? insideShare(a, b, box) : null;
    if (!share) { open = null; continue; }
    if (!open || share[0] > 0) { found.push(open = [between(a, b, share[0])]); }
    open.push(between(a, b, share[1]));
    if (share[1] < 1) { open = null; }
  }
  return found;
}

function between(a, b, share) {
  return share === 0 ? a : share === 1 ? b : [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])];
}

// From where to where a straight piece runs inside a box, as shares of it, or null.
function insideShare(a, b, box) {
  var from = 0, to = 1;
  for (var k = 0; k < 2; k += 1) {
    var step = b[k] - a[k], low = box[k] - a[k], high = box[k + 2] - a[k];
    if (step === 0) {
      if (low > 0 || high < 0) { return null; }
    } else {
      from = Math.max(from, Math.min(low / step, high / step));
      to = Math.min(to, Math.max(low / step, high / step));
    }
  }
  return from < to ? [from, to] : null;
}

// Where a name may stand in a square, best first, as shares of its sides.
var SPOTS = [[0.5, 0.5], [0.5, 0.3], [0.5, 0.7], [0.25, 0.5], [0.75, 0.5], [0.25, 0.25], [0.75, 0.25],
  [0.25, 0.75], [0.75, 0.75], [0.5, 0.12], [0.5, 0.88], [0.1, 0.5], [0.9, 0.5], [0.1, 0.1], [0.9, 0.9]];

// The two letters of each square of 100 km that has ground in a cell, and places in it.
function squaresOfCell(cell) {
  var range = gridRange(cell), found = [];
  for (var e = Math.floor(range[0] / SQUARE_M); e * SQUARE_M < range[1]; e += 1) {
    for (var n = Math.floor(range[2] / SQUARE_M); n * SQUARE_M < range[3]; n += 1) {
      var west = Math.max(e * SQUARE_M, range[0]), east = Math.min((e + 1) * SQUARE_M, range[1]);
      var low = Math.max(n * SQUARE_M, range[2]), high = Math.min((n + 1) * SQUARE_M, range[3]);
      var places = SPOTS.map(function (spot) {
        return onGround(cell, west + spot[0] * (east - west), low + spot[1] * (high - low));
      }).filter(function (place) { return holds(cell.box, place); });
      if (places.length) {
        found.push({ cell: cell, text: mgrsOf(places[0][0], places[0][1], 0).slice(-2), places: places });
      }
    }
  }
  return found;
}
