// Drawings as files: GeoJSON (RFC 7946) and GPX 1.1.

function seventh(number) {
  return Math.round(number * 1e7) / 1e7;
}

function lonLat(place, turns) {
  return [seventh(place[1] - 360 * turns), seventh(place[0])];
}

// Where a straight piece meets a meridian.
function meets(a, b, meridian) {
  return [a[0] + (b[0] - a[0]) * (meridian - a[1]) / (b[1] - a[1]), meridian];
}

function turnsOf(lon) {
  return Math.floor((lon + 180) / 360);
}

// RFC 7946, 3.1.9: what crosses 180 degrees is cut there, and each part stays on its side.
function cutLine(places) {
  var turns = turnsOf(places[0][1]), parts = [[lonLat(places[0], turns)]];
  places.slice(1).forEach(function (place, i) {
    var next = turnsOf(place[1]);
    if (next !== turns) {
      var edge = meets(places[i], place, 360 * Math.max(next, turns) - 180);
      parts[parts.length - 1].push(lonLat(edge, turns));
      parts.push([lonLat(edge, next)]);
      turns = next;
    }
    parts[parts.length - 1].push(lonLat(place, turns));
  });
  return parts.filter(function (part) {
    return part.some(function (point) { return point[0] !== part[0][0] || point[1] !== part[0][1]; });
  });
}

// The parts of a ring on either side of a meridian: where it crosses, each crossing leads along the
// meridian to its neighbour, the first to the second, the third to the fourth.
function cutRing(ring, meridian) {
  var walk = [], crossings = [], sides = { west: [], east: [] };
  ring.forEach(function (a, i) {
    var b = ring[(i + 1) % ring.length];
    walk.push(a);
    if ((a[1] < meridian) !== (b[1] < meridian)) {
      var edge = meets(a, b, meridian);
      walk.push(edge);
      crossings.push(edge);
    }
  });
  if (!crossings.length) {
    sides[ring[0][1] < meridian ? "west" : "east"].push(ring);
    return sides;
  }
  var start = walk.indexOf(crossings[0]), chains = { west: [], east: [] }, chain = null;
  walk = walk.slice(start).concat(walk.slice(0, start), [crossings[0]]);
  walk.forEach(function (place, i) {
    if (chain) { chain.push(place); }
    if (crossings.indexOf(place) >= 0 && i + 1 < walk.length) {
      chain = [place];
      chains[walk[i + 1][1] < meridian ? "west" : "east"].push(chain);
    }
  });
  crossings.sort(function (a, b) { return a[0] - b[0]; });
  Object.keys(chains).forEach(function (side) {
    var left = chains[side];
    while (left.length) {
      var found = left.shift(), end, next;
      for (;;) {
        end = crossings.indexOf(found[found.length - 1]);
        next = crossings[end % 2 ? end - 1 : end + 1];
        if (next === found[0]) { break; }
        var at = left.findIndex(function (one) { return one[0] === next; });
        found = found.concat(left.splice(at, 1)[0]);
      }
      sides[side].push(found);
    }
  });
  return sides;
}

function ringArea(ring) {
  return ring.reduce(function (sum, a, i) {
    var b = ring[(i + 1) % ring.length];
    return sum + a[0] * b[1] - b[0] * a[1];
  }, 0) / 2;
}

function cutArea(points) {
  var ring = alongPath(points, true).slice(0, -1), done = [], rest = [ring];
  var lons = ring.map(function (place) { return place[1]; });
  var turns = turnsOf(Math.min.apply(null, lons)), last = turnsOf(Math.max.apply(null, lons));
  for (; turns <= last; turns += 1) {
    var cut = rest.map(function (part) { return cutRing(part, 360 * turns + 180); });
    rest = [];
    cut.forEach(function (sides) {
      sides.west.forEach(function (part) {
        done.push(part.map(function (place) { return lonLat(place, turns); }));
      });
      rest = rest.concat(sides.east);
    });
  }
  return done.filter(function (part) { return Math.abs(ringArea(part)) > 0; }).map(function (part) {
    // The right-hand rule: an outer ring runs counterclockwise.
    if (ringArea(part) < 0) { part.reverse(); }
    return [part.concat([part[0]])];
  });
}

function geometryOf(one) {
  if (one.kind === "point") {
    return { type: "Point", coordinates: lonLat(one.points[0], turnsOf(one.points[0][1])) };
  }
  var parts = one.kind === "line" ? cutLine(alongPath(one.points, false)) : cutArea(one.points);
  var type = one.kind === "line" ? "LineString" : "Polygon";
  return parts.length === 1 ? { type: type, coordinates: parts[0] } : { type: "Multi" + type, coordinates: parts };
}

// The widest pixel, in metres, that a corner was set with, to two figures.
function drawnTo(one) {
  return Number(Math.max.apply(null, one.points.map(fineness)).toPrecision(2));
}

function geojsonOf(some) {
  return JSON.stringify({
    type: "FeatureCollection",
    features: some.map(function (one) {
      return { type: "Feature", properties: { name: one.name, kind: one.kind, drawn_to_m: drawnTo(one) }, geometry: geometryOf(one) };
    })
  }, null, 1) + "\n";
}

// XML 1.0 has no place for most control characters and for half characters, not even escaped.
function xmlText(text) {
  return text.replace(/[^\t\n\r\u0020-\uD7FF\uE000-\uFFFD\u{10000}-\u{10FFFF}]/gu, "\uFFFD")
    .replace(/&/g, "&amp;").replace(/</g, "&lt;").replace(/>/g, "&gt;").replace(/"/g, "&quot;");
}

function gpxPoint(tag, place, inside) {
  // Longitudes run from -180 to below 180.
  var lon = halfTurn(seventh(place[1]));
  return "<" + tag + " lat=\"" + place[0].toFixed(7) + "\" lon=\"" + lon.toFixed(7) + "\">" + inside + "</" + tag + ">";
}

// GPX has points and tracks; an area is a track that comes back to where it began.
function gpxOf(some) {
  var points = "", tracks = "";
  some.forEach(function (one) {
    var name = "<name>" + xmlText(one.name) + "</name><desc>" +
      (one.kind === "area" ? "Outline of an area, drawn to about " : "Drawn to about ") + drawnTo(one) + " m</desc>";
    if (one.kind === "point") {
      points += gpxPoint("wpt", one.points[0], name) + "\n";
      return;
    }
    var places = one.kind === "area" ? one.points.concat([one.points[0]]) : one.points;
    tracks += "<trk>" + name + "<trkseg>\n" +
      places.map(function (place) { return gpxPoint("trkpt", place, ""); }).join("\n") + "\n</trkseg></trk>\n";
  });
  return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\" creator=\"Position board\" " +
    "xmlns=\"http://www.topografix.com/GPX/1/1\">\n" + points + tracks + "</gpx>\n";
}

function saveFile(name, type, text) {
  var link = document.createElement("a"), address = URL.createObjectURL(new Blob([text], { type: type }));
  link.href = address;
  link.download = name;
  link.click();
  setTimeout(function () { URL.revokeObjectURL(address); }, 10000);
}
