// Paths of places [latitude, longitude, metres] along geodesics.

// A path of places whose longitudes run on from one to the next. Each keeps how wide a pixel was when it
// was set: no later zoom makes it any finer.
function addPlace(points, place) {
  var last = points[points.length - 1], lon = place[1];
  if (last) { lon += 360 * Math.round((last[1] - lon) / 360); }
  if (last && last[0] === place[0] && last[1] === lon) { return false; }
  points.push([place[0], lon, fineness(place)]);
  return true;
}

// Places along a geodesic, so many that straight pieces between them stray by about a metre at most.
function alongGeodesic(a, b) {
  var way = geodesicBetween(a[0], a[1], b[0], b[1]), found = [a];
  var slope = Math.tan(Math.min(Math.max(Math.abs(a[0]), Math.abs(b[0])), 85) * DEGREE) + 0.05;
  var count = Math.ceil(way.metres * Math.sqrt(slope / (8 * EARTH.a)));
  count = Math.min(Math.max(count, 1), 256);
  for (var i = 1; i < count; i += 1) {
    var there = geodesicTo(a[0], a[1], way.bearing, way.metres * i / count);
    addPlace(found, [there.lat, there.lon]);
  }
  found.push(b);
  return found;
}

function alongPath(points, close) {
  var found = points.slice(0, 1);
  points.slice(1).concat(close ? [points[0]] : []).forEach(function (place, i) {
    found = found.concat(alongGeodesic(points[i], place).slice(1));
  });
  return found;
}
