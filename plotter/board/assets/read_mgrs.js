// MGRS references as squares: they truncate, and are cut off where their zone ends.

function mgrsMeanings(text) {
  var bare = text.replace(/^\s*(?:mgrs|usng)\b\W*/i, "").replace(/[\s,]+/g, "").toUpperCase();
  var full = /^(\d{1,2})([A-Z])([A-Z])([A-Z])(\d*)$/.exec(bare);
  var pole = /^([ABYZ])([A-Z])([A-Z])(\d*)$/.exec(bare), short = /^([A-Z])([A-Z])(\d{2,10})$/.exec(bare);
  if (pole && !pole[4] && text.replace(/\s+/g, "").length === 3) {
    throw new Error("This may be a word: where a square near a pole is meant, write “MGRS " + bare + "”.");
  }
  if (pole) {
    checkHalves(text, pole[4]);
    return [meaning("MGRS", polarSquare(pole[1], pole[2], pole[3], pole[4]), [])];
  }
  if (full) {
    if (full[1] < 1 || full[1] > 60) {
      throw new Error("Zone " + full[1] + " does not exist: zones run from 1 to 60; ask for the zone.");
    }
    checkHalves(text, full[5]);
    return [meaning("MGRS", zoneSquare(Number(full[1]), full[2], full[3], full[4], full[5]), [])];
  }
  if (short) {
    checkHalves(text, short[3]);
    throw new Error("The grid zone is not said: ask for it, as in 31U " + short[1] + short[2] + ".");
  }
  return [];
}

function checkHalves(text, digitsSaid) {
  if (digitsSaid.length > 10 || digitsSaid.length % 2) {
    throw new Error("There are " + digitsSaid.length + " figures after the letters: easting and northing must have " +
      "equally many, five each at the most; ask for the figures again.");
  }
  var tail = text.replace(/^.*[A-Za-z]/s, ""), groups = tail.match(/\d+/g) || [];
  var unlike = groups.some(function (group) { return group.length !== groups[0].length; });
  if (groups.length > 2 && (/[,;]/.test(tail) || unlike)) {
    throw new Error("There are " + groups.length + " groups of figures after the letters: a time or a count may be " +
      "among them; ask for the easting and the northing alone.");
  }
  if (groups.length === 2 && groups[0].length !== groups[1].length) {
    throw new Error("There are " + groups[0].length + " figures east and " + groups[1].length +
      " north: they must have equally many; ask for the figures again.");
  }
}

function letterIn(letters, letter, what) {
  var at = letters.indexOf(letter);
  if (at < 0) {
    throw new Error(letter + " is not one of the " + what + " " + letters +
      ("IO".includes(letter) ? " (I and O are never used: 1 or 0 may be meant)" : "") + ": ask for the letters again.");
  }
  return at;
}

// What one grid zone covers, [south, north, west, east]; null where the zone does not exist.
function groundOfZone(zone, band) {
  var south = 8 * figures.bands.indexOf(band) - 80, west = 6 * zone - 186, east = 6 * zone - 180;
  if (band === "V" && zone === 31) { east = 3; }
  if (band === "V" && zone === 32) { west = 3; }
  if (band === "X" && zone >= 31 && zone <= 37) {
    var wide = { 31: [0, 9], 33: [9, 21], 35: [21, 33], 37: [33, 42] }[zone];
    if (!wide) { return null; }
    west = wide[0]; east = wide[1];
  }
  return [south, band === "X" ? 84 : south + 8, west, east];
}

// Northing of the lowest 100 km row that reaches into a band: north of the equator a parallel is lowest on
// the central meridian, south of it at the edge of the zone.
function firstNorthing(band) {
  var south = 8 * figures.bands.indexOf(band) - 80;
  var lows = [0, 3, band === "V" ? 6 : band === "X" ? 9 : 3].map(function (east) {
    return gridOf(south, 3 + east, 31).northing;
  });
  return Math.floor(Math.min.apply(null, lows) / 1e5) * 1e5;
}

// The middle first, then the outline, in steps fine enough for the curved edges of a large square.
function outlineOf(easting, northing, side, place) {
  var n = side >= 10000 ? 8 : 1, points = [[0.5, 0.5]];
  [[0, 0, 1, 0], [1, 0, 0, 1], [1, 1, -1, 0], [0, 1, 0, -1]].forEach(function (edge) {
    for (var i = 0; i < n; i += 1) { points.push([edge[0] + edge[2] * i / n, edge[1] + edge[3] * i / n]); }
  });
  return points.map(function (p) { return place(easting + p[0] * side, northing + p[1] * side); });
}

// The part of a ring where `keep` is not negative: one pass of Sutherland and Hodgman.
function clipped(ring, keep) {
  var kept = [];
  ring.forEach(function (a, i) {
    var b = ring[(i + 1) % ring.length], ka = keep(a), kb = keep(b);
    if (ka >= 0) { kept.push(a); }
    if (ka * kb < 0) {
      var t = ka / (ka - kb);
      kept.push([a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]);
    }
  });
  return kept;
}

function middleOf(points) {
  return [0, 1].map(function (k) {
    return points.reduce(function (sum, p) { return sum + p[k]; }, 0) / points.length;
  });
}

function zoneSquare(zone, band, column, row, said) {
  letterIn(figures.bands, band, "bands");
  var ground = groundOfZone(zone, band), half = said.length / 2, side = Math.pow(10, 5 - half);
  if (!ground) {
    throw new Error("Zone " + zone + band + " does not exist: around Svalbard only 31X, 33X, 35X and 37X do; ask for the zone.");
  }
  var first = zone % 2 ? 0 : figures.evenZonesFirstRow, lowest = firstNorthing(band), meridian = 6 * zone - 183;
  var easting = (letterIn(figures.columns[(zone - 1) % 3], column, "columns of zone " + zone) + 1) * 1e5;
  var above = (letterIn(figures.rows, row, "rows") - first + 20) % 20 * 1e5;
  var northing = lowest + ((above - lowest) % 2e6 + 2e6) % 2e6;
  easting += Number(said.slice(0, half)) * side;
  northing += Number(said.slice(half)) * side;
  // Longitudes from the central meridian, so that none jumps at 180 degrees.
  var ring = outlineOf(easting, northing, side, function (x, y) {
    var place = placeOfGrid(zone, x, y, band < "N");
    return [place.lat, halfTurn(place.lon - meridian)];
  });
  var middle = ring.shift(), west = ground[2] - meridian, east = ground[3] - meridian;
  [
    function (p) { return p[0] - ground[0]; }, function (p) { return ground[1] - p[0]; },
    function (p) { return p[1] - west; }, function (p) { return east - p[1]; }
  ].forEach(function (keep) { ring = clipped(ring, keep); });
  if (ring.length < 3) {
    throw new Error("Square " + column + row + " does not lie in zone " + zone + band + ": ask for the zone and the letters again.");
  }
  if (middle[0] < ground[0] || middle[0] >= ground[1] || middle[1] < west || middle[1] >= east) {
    middle = middleOf(ring);
  }
  function turned(p) { return [p[0], p[1] + meridian]; }
  return { centre: turned(middle), size: side, corners: ring.map(turned) };
}

function polarSquare(letter, column, row, said) {
  var set = figures.polarColumns[letter], south = "AB".includes(letter), half = said.length / 2;
  var side = Math.pow(10, 5 - half), rows = south ? figures.polarRows : figures.polarRows.slice(0, 14);
  var easting = set[0] + letterIn(set[1], column, "columns of polar zone " + letter) * 1e5;
  var northing = figures.polarFirstRow[letter] + letterIn(rows, row, "rows") * 1e5;
  easting += Number(said.slice(0, half)) * side;
  northing += Number(said.slice(half)) * side;
  function place(x, y) {
    var found = placeOfGrid(0, x, y, south);
    return [found.lat, found.lon];
  }
  function within(p) { return p[0] < -80 || p[0] >= 84; }
  var ring = outlineOf(easting, northing, side, place), middle = ring.shift();
  if (!within(middle)) {
    // The edge of the polar area cuts off the middle: that of what is left is taken.
    var kept = [];
    for (var i = 0; i < 10000; i += 1) {
      var x = easting + (0.005 + 0.01 * (i % 100)) * side;
      var y = northing + (0.005 + 0.01 * Math.floor(i / 100)) * side;
      if (within(place(x, y))) { kept.push([x, y]); }
    }
    if (!kept.length) {
      throw new Error("Square " + letter + column + row + " lies outside the polar area: ask for it again.");
    }
    middle = middleOf(kept);
    middle = place(middle[0], middle[1]);
  }
  return { centre: middle, size: side, corners: ring };
}
