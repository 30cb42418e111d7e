// A place in words: every format, and the way from one place to another, as finely as it is known.

function pixelMetres(lat) {
  return 2 * Math.PI * EARTH.a / 256 * Math.cos(lat * DEGREE) / Math.pow(2, map.getZoom());
}

// How finely a place [latitude, longitude, metres] is known: as its own metres say, else to a pixel.
function fineness(place) {
  return place[2] || pixelMetres(place[0]);
}

// The power of ten that is nearest to so many metres: what the last figure stands for.
function power(metres) {
  return Math.max(Math.round(Math.log10(metres)), -2);
}

function unitWords(metres) {
  return metres < 1 ? Math.round(metres * 100) + " cm" : metres < 1000 ? metres + " m" : metres / 1000 + " km";
}

function angleWords(value, letters, style, decimals) {
  var parts = { dd: 1, dm: 60, dms: 3600 }[style], scale = Math.pow(10, decimals);
  // One rounding of the whole angle, so that no part ever reads 60.
  var units = Math.round(Math.abs(value) * parts * scale), letter = letters[value < 0 && units ? 1 : 0];
  var last = Math.floor(units / scale), tail = decimals ? "." + String(units % scale).padStart(decimals, "0") : "";
  if (style === "dd") { return last + tail + "° " + letter; }
  if (style === "dm") { return Math.floor(last / 60) + "° " + two(last % 60) + tail + "′ " + letter; }
  return Math.floor(last / 3600) + "° " + two(Math.floor(last / 60) % 60) + "′ " + two(last % 60) + tail + "″ " + letter;
}

function latlonWords(place, style, decimals) {
  return angleWords(place[0], "NS", style, decimals) + ", " + angleWords(halfTurn(place[1]), "EW", style, decimals);
}

// UTM or UPS, truncated; the word north follows the letter S, which could be taken for south.
function utmWords(place, unit) {
  var grid = gridOf(place[0], place[1]), name;
  function cut(metres, width) {
    return String(Math.floor((metres + figures.utm.nudge) / unit) * unit).padStart(width, "0");
  }
  if (grid.zone === 0) {
    name = (grid.south ? "AB" : "YZ")[grid.easting + figures.utm.nudge >= 2e6 ? 1 : 0];
    return [name, cut(grid.easting, 7), cut(grid.northing, 7)];
  }
  // A hair south of the equator is still south of it.
  var northing = grid.south ? Math.min(grid.northing, figures.utm.southFalseNorthing - unit / 2) : grid.northing;
  name = bandOf(place[0]);
  return [two(grid.zone) + name + (name === "S" ? " north" : ""), cut(grid.easting, 6), cut(northing, 7)];
}

function locatorWords(place, metres) {
  var heights = [1e99, 111000, 4630, 463, 19.3], level = 4;
  while (level > 0 && heights[level] < metres) { level -= 1; }
  return maidenheadOf(place[0], place[1], 2 * level + 2);
}

// Every format of a place, each as spoken groups; joined, and with a space where one is needed, they are
// what is copied.
function formatsOf(place) {
  var p = power(fineness(place)), d = Math.max(5 - p, 0), a = Math.min(Math.max(5 - p, 0), 5);
  var mgrs = mgrsOf(place[0], place[1], a), head = mgrs.slice(0, mgrs.length - 2 * a);
  return {
    latlon: [latlonWords(place, "dd", Math.min(d, 7))],
    minutes: [latlonWords(place, "dm", Math.min(Math.max(3 - p, 0), 5))],
    seconds: [latlonWords(place, "dms", Math.min(Math.max(1 - p, 0), 3))],
    mgrs: [head.slice(0, -2), head.slice(-2)].concat(a ? [mgrs.slice(-2 * a, -a), mgrs.slice(-a)] : []),
    utm: utmWords(place, Math.pow(10, Math.max(p, 0))),
    locator: [locatorWords(place, fineness(place))]
  };
}

function distanceWords(metres, unit) {
  if (metres < 1000) { return (Math.round(metres / Math.max(unit, 1)) * Math.max(unit, 1)) + " m"; }
  var decimals = Math.min(Math.max(3 - Math.round(Math.log10(unit)), 0), 3);
  return (metres / 1000).toFixed(decimals) + " km";
}

// Distance and bearings from one place to another, no finer than the coarser place lets them be told.
function wayOf(a, b) {
  var way = geodesicBetween(a[0], a[1], b[0], b[1]), fine = Math.max(fineness(a), fineness(b));
  var decimals = way.metres > 600 * fine ? 1 : 0;
  function bearing(degrees) {
    var scale = Math.pow(10, decimals), turn = Math.round(degrees * scale) / scale;
    return ((turn % 360 + 360) % 360).toFixed(decimals).padStart(decimals ? 5 : 3, "0") + "°";
  }
  return {
    metres: way.metres,
    fine: fine,
    distance: distanceWords(way.metres, Math.pow(10, power(fine))),
    bearings: way.metres === 0 ? "" : bearing(way.bearing) + " true, " +
      bearing(way.bearing - declinationOf(a[0], a[1])) + " magnetic, " +
      bearing(way.bearing - convergenceOf(a[0], a[1])) + " grid"
  };
}
