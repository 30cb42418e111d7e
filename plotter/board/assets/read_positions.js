// A text as a position: every meaning that it admits, each with its square and what it rests on; else an
// error that says what was expected. The same rules as the Python core's, without an area of operations.

var LONGEST_POSITION = 200;
var EXPECTED = "Expected a position on WGS 84, such as 48.8582N 2.2945E, 48 51.49N 2 17.67E, " +
  "31U DQ 48251 11932, 31U 448251 5411932, 31 north 448251 5411932, or JN18du56.";

function meaningsOf(text) {
  var bare = text.trim().replace(/[.;,]+$/, "");
  if (!bare) { throw new Error(EXPECTED); }
  if (bare.length > LONGEST_POSITION) { throw new Error("Too long for a position: give the position alone."); }
  bare = bare.replace(/[\s,;(]+(?:on\s+(?:the\s+)?)?WGS[\s-]?(?:19)?84(?:\s+datum)?\)?$/i, "");
  var upper = bare.toUpperCase(), found = [], wrong = [], long = (bare.match(/\d/g) || []).length >= 11;
  [
    [true, mgrsMeanings], [long, utmMeanings], [long, upsMeanings],
    [/^[A-Z]{2}/.test(upper), maidenheadMeanings], [!/[BFJKQVXYZ]/.test(upper), latlonMeanings]
  ].forEach(function (pair) {
    if (!pair[0]) { return; }
    try { found = found.concat(pair[1](bare)); } catch (error) { wrong.push(error.message); }
  });
  if (found.length) { return found; }
  throw new Error(wrong.length ? wrong.join(" Or: ") : "This cannot be read. " + EXPECTED);
}

function meaning(format, square, assumed) {
  return { format: format, centre: square.centre, size: square.size, corners: square.corners, assumed: assumed };
}

function graticuleSquare(lat, lon, high, wide) {
  var sin = Math.sin(lat * DEGREE), e2 = EARTH.f * (2 - EARTH.f), w2 = 1 - e2 * sin * sin;
  var perLat = EARTH.a * (1 - e2) / Math.pow(w2, 1.5) * DEGREE;
  var perLon = EARTH.a * Math.max(Math.cos(lat * DEGREE), 0) / Math.sqrt(w2) * DEGREE;
  var south = Math.max(lat - high / 2, -90), north = Math.min(lat + high / 2, 90);
  var west = lon - wide / 2, east = lon + wide / 2;
  return {
    centre: [lat, lon], size: Math.max(high * perLat, Math.min(wide, 360) * perLon),
    corners: [[south, west], [south, east], [north, east], [north, west]]
  };
}

function latlonMeanings(text) {
  return (anglePairs(text) || []).map(latlonMeaning);
}

function latlonMeaning(pair) {
  var order = "", first = pair[0], second = pair[1], lat = first, lon = second;
  if (first.axis && first.axis === second.axis) {
    throw new Error("Both parts are a " + (first.axis === "lat" ? "latitude" : "longitude") + ": ask for the other one.");
  }
  if (first.axis === "lon" || second.axis === "lat") {
    lat = second; lon = first;
  } else if (!first.axis && !second.axis) {
    order = "latitude first";
    if (first.value > 90 && second.value <= 90) {
      lat = second; lon = first;
      order = "longitude first: " + first.value + " cannot be a latitude";
    }
  }
  [[lat, 90, "latitude"], [lon, 180, "longitude"]].forEach(function (each) {
    if (each[0].value > each[1]) {
      throw new Error("The " + each[2] + " " + each[0].written + " is beyond " + each[1] + " degrees: ask for it again.");
    }
  });
  var unstated = [[lat, "north"], [lon, "east"]].filter(function (each) { return !each[0].sign && each[0].value; });
  var why = unstated.map(function (each) { return each[1]; }).join(" and ");
  return meaning("Latitude and longitude", graticuleSquare(
    (lat.sign || 1) * lat.value, (lon.sign || 1) * lon.value,
    Math.max(lat.unit, FINEST_DEG), Math.max(lon.unit, FINEST_DEG)
  ), [].concat(order || [], lat.assumed, lon.assumed, why ? why + ": no letter and no sign" : []));
}

function maidenheadMeanings(text) {
  if (text.split(/\s+/).some(function (group) { return group.length % 2; })) { return []; }
  if (/^[a-z]{2}(?:\s+\d\d)?$/i.test(text)) { throw new Error("This may be a word: where a locator is meant, write “locator " + text + "”."); }
  var upper = text.replace(/\s+/g, "").toUpperCase(), rows = 0, columns = 0, cells = 1;
  ["MAIDENHEAD", "LOCATOR", "QTH"].forEach(function (word) {
    if (upper.startsWith(word)) { upper = upper.slice(word.length); }
    upper = upper.replace(/^:+/, "");
  });
  if (!/^[A-R]{2}(?:\d{2}(?:[A-X]{2}(?:\d{2}(?:[A-X]{2})?)?)?)?$/.test(upper)) {
    if (!/^[A-Z]{2}\d{2}(?:[A-Z]{2}(?:\d{2}(?:[A-Z]{2})?)?)?$/.test(upper)) { return []; }
    throw new Error("Not a locator: expected two letters A to R, then pairs of figures and letters A to X in turn.");
  }
  var groups = text.replace(/^\s*(?:maidenhead|locator|qth)\b[\s:]*/i, "").split(/\s+/);
  if (groups.length > 1 && groups[0].length >= 6 && groups.slice(1).join("").length === 2) {
    throw new Error("“" + groups.slice(1).join(" ") + "” may be a part of the locator, or another thing: write it without a gap, or alone.");
  }
  [18, 10, 24, 10, 24].slice(0, upper.length / 2).forEach(function (base, level) {
    function digit(character) { return base === 10 ? Number(character) : character.charCodeAt(0) - 65; }
    cells *= base;
    columns = columns * base + digit(upper[2 * level]);
    rows = rows * base + digit(upper[2 * level + 1]);
  });
  return [meaning("Maidenhead", graticuleSquare(
    (90 * (2 * rows + 1) - 90 * cells) / cells, (180 * (2 * columns + 1) - 180 * cells) / cells,
    180 / cells, 360 / cells
  ), [])];
}

var EASTING_NORTHING = new RegExp(
  "^(?<e1>e(?:asting)?)?\\W*(?<a>\\d+(?:\\.\\d+)?)\\s*(?<ua>m?\\s*[en]|m)?[\\s,;/]+" +
  "(?<n1>n(?:orthing)?)?\\W*(?<b>\\d+(?:\\.\\d+)?)\\s*(?<ub>m?\\s*[en]|m)?$", "i");

// Easting and northing as written, with one unit of the last figure of the coarser one.
function eastingNorthing(body) {
  var match = EASTING_NORTHING.exec(body.trim()), assumed = [];
  if (!match) { return null; }
  var part = match.groups, a = part.a, b = part.b;
  function letter(label, tail) {
    return ((label || "")[0] || (tail || "").slice(-1)).toLowerCase().replace("m", "");
  }
  var first = letter(part.e1, part.ua), second = letter(part.n1, part.ub);
  if (first === "n" && second !== "n") {
    a = part.b; b = part.a;
  } else if (!first && !second && Number(a) > 1e6 && Number(b) < 1e6) {
    a = part.b; b = part.a;
    assumed = ["northing first: it has seven figures"];
  } else if (first && first === second) {
    throw new Error("Both numbers are called " + first.toUpperCase() + ": ask for the other one.");
  }
  var decimals = Math.min((a.split(".")[1] || "").length, (b.split(".")[1] || "").length);
  return { easting: Number(a), northing: Number(b), unit: Math.pow(10, -decimals), assumed: assumed };
}

function gridSquare(zone, grid, south) {
  function place(x, y) {
    var found = placeOfGrid(zone, grid.easting + x * grid.unit, grid.northing + y * grid.unit, south);
    return [Math.min(Math.max(found.lat, -90), 90), found.lon];
  }
  return {
    centre: place(0.5, 0.5), size: grid.unit,
    corners: [place(0, 0), place(1, 0), place(1, 1), place(0, 1)]
  };
}

function utmMeanings(text) {
  var head = /^(?:utm\b\W*)?(?:zone\b\W*)?(?<zone>\d{1,2})(?!\.\d)\s*(?<band>[a-z])?\b\W*(?<side>north|south|\((?:north|south)\))?(?:ern)?(?:\s+hemisphere)?\W*(?=\d|e|n)/i.exec(text);
  var grid = head && eastingNorthing(text.slice(head[0].length));
  if (!grid) {
    grid = eastingNorthing(text.replace(/^utm\b\W*/i, ""));
    if (!grid || Math.min(grid.easting, grid.northing) < 1e5) { return []; }
    throw new Error("The UTM zone is not said: ask for it.");
  }
  if (grid.easting < 1e5 && grid.northing < 1e5) { return []; }
  var zone = Number(head.groups.zone), band = (head.groups.band || "").toUpperCase();
  var side = (head.groups.side || "").replace(/[()]/g, "").toLowerCase();
  if (zone < 1 || zone > 60) { throw new Error("Zone " + zone + " does not exist: zones run from 1 to 60; ask for the zone."); }
  if (band && !figures.bands.includes(band)) {
    throw new Error(band + " is not a UTM band: bands are C to X without I and O.");
  }
  if (side) {
    if (band && band !== "S" && (band < "N") !== (side === "south")) {
      throw new Error("Band " + band + " is not in the " + side + ": ask which.");
    }
    return [utmMeaning(zone, grid, side === "south", band === "S" ? "" : band, [])];
  }
  if (band === "S") { return letterS(zone, grid); }
  if (!band) {
    throw new Error("The hemisphere is not said: add the band letter, or the word north or south.");
  }
  return [utmMeaning(zone, grid, band < "N", band === "N" ? "" : band, [])];
}

function utmMeaning(zone, grid, south, band, assumed) {
  [[grid.easting, 1e5, 9e5, "easting"],
    [grid.northing, south ? 1.1e6 : 0, south ? 1e7 : 9.35e6, "northing"]].forEach(function (each) {
    if (each[0] < each[1] || each[0] >= each[2]) {
      throw new Error("The " + each[3] + " " + each[0] + " is outside " + each[1] + " to " + each[2] + " m" +
        (south && each[3] === "northing" ? " of the southern hemisphere" : "") + ": ask for it again.");
    }
  });
  var square = gridSquare(zone, grid, south), places = [square.centre].concat(square.corners);
  var lats = places.map(function (p) { return p[0]; }).filter(function (lat) { return lat >= -80 && lat < 84; });
  if (!lats.length) { throw new Error("This is outside the latitudes of UTM: ask for it in UPS."); }
  if (band && !lats.some(function (lat) { return bandOf(lat) === band; })) {
    throw new Error("The northing " + grid.northing + " lies in band " + bandOf(lats[0]) + ", not " + band +
      ": ask for the band letter and the northing again.");
  }
  var zones = places.map(function (p) { return zoneOf(p[0], p[1]); });
  if (!zones.includes(zone)) {
    assumed = assumed.concat("taken in zone " + zone + " though the place itself lies in zone " + zones[0]);
  }
  return meaning("UTM", square, grid.assumed.concat(assumed));
}

// S is a band north of the equator and, for many, the southern hemisphere: both are given.
function letterS(zone, grid) {
  var found = [];
  [[false, "S is the band from 32 to 40 north; it could also mean the southern hemisphere"],
    [true, "S is the southern hemisphere; it could also be the band from 32 to 40 north"]].forEach(function (each) {
    try { found.push(utmMeaning(zone, grid, each[0], each[0] ? "" : "S", [each[1]])); } catch (error) { return; }
  });
  if (!found.length) { return [utmMeaning(zone, grid, true, "", [])]; }
  if (found.length === 1 && found[0].centre[0] < 0) {
    found[0].assumed = grid.assumed.concat("S is the southern hemisphere: the northing does not fit band S");
  }
  return found;
}

function upsMeanings(text) {
  var head = /^(?:ups\b\W*)?(?:(?<letter>[abyz])|(?<side>n|s|north|south))\b\W*(?=\d|e|n)/i.exec(text);
  var grid = head && eastingNorthing(text.slice(head[0].length));
  if (!grid || Math.min(grid.easting, grid.northing) < 1e5) { return []; }
  var letter = (head.groups.letter || "").toUpperCase();
  var south = letter ? "AB".includes(letter) : head.groups.side[0].toLowerCase() === "s";
  [[grid.easting, "easting"], [grid.northing, "northing"]].forEach(function (each) {
    if (each[0] < 8e5 || each[0] >= 3.2e6) {
      throw new Error("The " + each[1] + " " + each[0] + " is outside UPS (800000 to 3200000 m): ask for it again.");
    }
  });
  if (letter && "AY".includes(letter) !== (grid.easting < 2e6)) {
    throw new Error("The easting " + grid.easting + " is on the other side of the pole than " + letter +
      ": ask for the letter and the easting again.");
  }
  var square = gridSquare(0, grid, south), lat = square.centre[0];
  if (lat > -79.5 && lat < 83.5) { throw new Error("This is outside the polar areas of UPS: ask for it in UTM."); }
  return [meaning("UPS", square, grid.assumed)];
}
