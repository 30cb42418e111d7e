// Lines of whole parts of a degree: Maidenhead squares and the graticule. A view is as in grid_zones.js.

// Height of a Maidenhead field, square, subsquare, extended square and extended subsquare, as degrees;
// each is twice as wide in degrees of longitude.
var LOCATOR_STEPS = [10, 1, 1 / 24, 1 / 240, 1 / 5760];
// Steps of the graticule as whole seconds: figures that are read easily.
var GRATICULE_SECONDS = [30, 10, 5, 2, 1].map(function (n) { return n * 3600; })
  .concat([30, 10, 5, 2, 1].map(function (n) { return n * 60; }), [30, 10, 5, 2, 1]);

function degreeLines(view, latStep, lonStep) {
  var found = [], n;
  for (n = Math.ceil(view[0] / latStep); n * latStep <= view[2]; n += 1) {
    if (Math.abs(n * latStep) < 90) {
      found.push({ easting: false, value: n * latStep, places: [[n * latStep, view[1]], [n * latStep, view[3]]] });
    }
  }
  for (n = Math.ceil(view[1] / lonStep); n * lonStep <= view[3]; n += 1) {
    found.push({ easting: true, value: n * lonStep, places: [[view[0], n * lonStep], [view[2], n * lonStep]] });
  }
  return found;
}

// The locators of one level that have ground in a view, each with its part of the view.
function locatorsIn(view, level) {
  var high = LOCATOR_STEPS[level], wide = 2 * high, found = [];
  for (var row = Math.floor(view[0] / high); row * high < view[2]; row += 1) {
    for (var column = Math.floor(view[1] / wide); column * wide < view[3]; column += 1) {
      var lat = (row + 0.5) * high, lon = (column + 0.5) * wide;
      if (Math.abs(lat) > 90) { continue; }
      found.push({
        text: maidenheadOf(lat, lon, 2 * level + 2),
        box: [Math.max(row * high, view[0]), Math.max(column * wide, view[1]),
          Math.min((row + 1) * high, view[2]), Math.min((column + 1) * wide, view[3])]
      });
    }
  }
  return found;
}

function graticuleWords(line, seconds) {
  var value = line.easting ? halfTurn(line.value) : line.value, whole = Math.round(Math.abs(value) * 3600);
  var letter = whole === 0 || whole === 648000 ? "" : (line.easting ? "EW" : "NS")[value < 0 ? 1 : 0];
  var words = Math.floor(whole / 3600) + "°";
  if (seconds < 3600) { words += two(Math.floor(whole / 60) % 60) + "′"; }
  if (seconds < 60) { words += two(whole % 60) + "″"; }
  return words + letter;
}
