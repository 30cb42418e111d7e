// Geodesics on the WGS 84 ellipsoid by their integrals: distance and bearings of two places, and the
// place that a bearing and a distance lead to. No series: every integral is a Gauss–Legendre sum.
//
// Source: Bessel's reduction as in C. F. F. Karney, Algorithms for geodesics, J. Geodesy 87 (2013),
// eqs. 5 to 8; checked against the Python core on random and hostile points.

var EARTH = { a: 6378137, f: 1 / 298.257223563 };
EARTH.b = EARTH.a * (1 - EARTH.f);
EARTH.ep2 = EARTH.f * (2 - EARTH.f) / ((1 - EARTH.f) * (1 - EARTH.f));
var DEGREE = Math.PI / 180;

// Zeros and weights of the Legendre polynomial, by Newton's method.
var GAUSS = (function (count) {
  var nodes = [];
  for (var i = 0; i < count; i += 1) {
    var x = Math.cos(Math.PI * (i + 0.75) / (count + 0.5)), slope = 1;
    for (var step = 0; step < 50; step += 1) {
      var before = 0, value = 1;
      for (var n = 1; n <= count; n += 1) {
        var next = ((2 * n - 1) * x * value - (n - 1) * before) / n;
        before = value;
        value = next;
      }
      slope = count * (x * value - before) / (x * x - 1);
      var move = value / slope;
      x -= move;
      if (Math.abs(move) < 1e-16) { break; }
    }
    nodes.push([x, 2 / ((1 - x * x) * slope * slope)]);
  }
  return nodes;
}(16));

// Sums over the arc from sigma1 to sigma2: of the distance, and of what the longitude falls short of
// that on the sphere.
function arcSums(sigma1, sigma2, k2) {
  var middle = (sigma1 + sigma2) / 2, half = (sigma2 - sigma1) / 2, way = 0, lag = 0;
  for (var i = 0; i < GAUSS.length; i += 1) {
    var sin = Math.sin(middle + half * GAUSS[i][0]);
    var root = Math.sqrt(1 + k2 * sin * sin);
    way += GAUSS[i][1] * root;
    lag += GAUSS[i][1] * (2 - EARTH.f) / (1 + (1 - EARTH.f) * root);
  }
  return { way: way * half, lag: lag * half };
}

function reduced(latDeg) {
  var lat = latDeg * DEGREE, sin = (1 - EARTH.f) * Math.sin(lat), cos = Math.cos(lat);
  if (Math.abs(latDeg) === 90) { return { sin: latDeg / 90, cos: 1e-150 }; }
  var length = Math.hypot(sin, cos);
  return { sin: sin / length, cos: cos / length };
}

// The geodesic that leaves the first latitude on an azimuth, given by its cotangent, up to where it
// meets the second: its longitude, arc and azimuths. Latitudes as in `inverse`.
function reach(beta1, beta2, cotangent) {
  var sa1 = 1 / Math.hypot(1, cotangent), ca1 = Math.abs(cotangent) > 1e150 ?
    Math.sign(cotangent) : cotangent * sa1;
  var sa0 = sa1 * beta1.cos, ca0 = Math.hypot(ca1, sa1 * beta1.sin);
  var sa2 = sa0 / beta2.cos;
  // Karney's eq. 45: the difference of the squares of the cosines without cancellation.
  var more = beta1.cos < -beta1.sin ?
    (beta2.cos - beta1.cos) * (beta1.cos + beta2.cos) :
    (beta1.sin - beta2.sin) * (beta1.sin + beta2.sin);
  var ca2 = Math.sqrt(Math.max(ca1 * beta1.cos * ca1 * beta1.cos + more, 0)) / beta2.cos;
  var sigma1 = Math.atan2(beta1.sin, ca1 * beta1.cos), sigma2 = Math.atan2(beta2.sin, ca2 * beta2.cos);
  var omega1 = Math.atan2(sa0 * beta1.sin, ca1 * beta1.cos);
  var omega2 = Math.atan2(sa0 * beta2.sin, ca2 * beta2.cos);
  var arc = sigma2 - sigma1;
  if (arc < 0) { arc += 2 * Math.PI; }
  var turn = omega2 - omega1;
  if (turn < 0) { turn += 2 * Math.PI; }
  var sums = arcSums(sigma1, sigma1 + arc, EARTH.ep2 * ca0 * ca0);
  return {
    lambda: turn - EARTH.f * sa0 * sums.lag, way: sums.way,
    sa1: sa1, ca1: ca1, sa2: sa2, ca2: ca2
  };
}

// The cotangent of the azimuth for which the geodesic arrives at a longitude, by halving the range
// of its logarithm: the longitude grows as the azimuth turns from north to south.
function aim(beta1, beta2, lambda) {
  var sign = reach(beta1, beta2, 0).lambda < lambda ? -1 : 1, low = -345, high = 345;
  for (var step = 0; step < 66; step += 1) {
    var middle = (low + high) / 2;
    var there = reach(beta1, beta2, sign * Math.exp(middle)).lambda;
    // A larger cotangent points farther north, or farther south: less longitude, or more.
    if ((sign > 0) === (there > lambda)) { low = middle; } else { high = middle; }
  }
  return reach(beta1, beta2, sign * Math.exp((low + high) / 2));
}

// Metres and true bearings at both ends, in degrees from 0 to 360; the second one points onward.
function geodesicBetween(lat1, lon1, lat2, lon2) {
  var east = ((lon2 - lon1) % 360 + 540) % 360 - 180, side = east < 0 ? -1 : 1;
  var lambda = Math.abs(east) * DEGREE;
  var swap = Math.abs(lat1) < Math.abs(lat2) ? -1 : 1;
  if (swap < 0) { side = -side; }
  var first = swap < 0 ? lat2 : lat1, second = swap < 0 ? lat1 : lat2;
  var mirror = first < 0 ? 1 : -1;
  var beta1 = reduced(first * mirror), beta2 = reduced(second * mirror), line;
  if (lat1 === lat2 && lambda === 0) { return { metres: 0, bearing: 0, onward: 0 }; }
  if (lambda === 0 || Math.abs(first) === 90) {
    line = reach(beta1, beta2, 1e300);
    line.sa1 = lambda === 0 ? 0 : Math.sin(lambda);
    line.ca1 = lambda === 0 ? 1 : Math.cos(lambda);
    line.sa2 = 0;
    line.ca2 = 1;
  } else if (lambda >= Math.PI) {
    line = reach(beta1, beta2, -1e300);
    line.sa1 = 0; line.ca1 = -1; line.sa2 = 0; line.ca2 = 1;
  } else if (first === 0 && second === 0 && lambda <= (1 - EARTH.f) * Math.PI) {
    line = { way: EARTH.a * lambda / EARTH.b, sa1: 1, ca1: 0, sa2: 1, ca2: 0 };
  } else {
    line = aim(first === 0 ? { sin: -1e-150, cos: 1 } : beta1, beta2, lambda);
  }
  var start = swap < 0 ? [line.sa2, line.ca2] : [line.sa1, line.ca1];
  var end = swap < 0 ? [line.sa1, line.ca1] : [line.sa2, line.ca2];
  var turn = swap * side, up = swap * mirror;
  function bearing(part) { return (Math.atan2(part[0] * turn, part[1] * up) / DEGREE + 360) % 360; }
  return { metres: line.way * EARTH.b, bearing: bearing(start), onward: bearing(end) };
}

// Where a true bearing and a distance lead.
function geodesicTo(lat, lon, bearing, metres) {
  // At a pole every way is a meridian, and the bearing says which.
  var pole = Math.abs(lat) === 90;
  if (pole) { lon += lat > 0 ? 180 - bearing : bearing; }
  var beta1 = reduced(lat), azimuth = bearing * DEGREE;
  var sa1 = pole ? 0 : Math.sin(azimuth), ca1 = pole ? -Math.sign(lat) : Math.cos(azimuth);
  var sa0 = sa1 * beta1.cos, ca0 = Math.hypot(ca1, sa1 * beta1.sin);
  var k2 = EARTH.ep2 * ca0 * ca0, wanted = metres / EARTH.b;
  var sigma1 = Math.atan2(beta1.sin, ca1 * beta1.cos), arc = wanted;
  for (var step = 0; step < 12; step += 1) {
    var sin = Math.sin(sigma1 + arc);
    var move = (wanted - arcSums(sigma1, sigma1 + arc, k2).way) / Math.sqrt(1 + k2 * sin * sin);
    arc += move;
    if (Math.abs(move) < 1e-15) { break; }
  }
  var sigma2 = sigma1 + arc, ss2 = Math.sin(sigma2), cs2 = Math.cos(sigma2);
  var sinBeta2 = ca0 * ss2, cosBeta2 = Math.hypot(sa0, ca0 * cs2);
  // From the north pole southward the arc has just left its top: the cosine there is a hair too big.
  var omega1 = lat === 90 ? Math.PI : Math.atan2(sa0 * Math.sin(sigma1), Math.cos(sigma1));
  var omega2 = Math.atan2(sa0 * ss2, cs2);
  var turn = omega2 - omega1;
  // An eastward line turns east, a westward one west, by as much as its arc, up to half a turn.
  turn += 2 * Math.PI * Math.round(((sa0 < 0 ? -arc : arc) - turn) / (2 * Math.PI));
  var east = turn - EARTH.f * sa0 * arcSums(sigma1, sigma2, k2).lag;
  return {
    lat: Math.atan2(sinBeta2, (1 - EARTH.f) * cosBeta2) / DEGREE,
    lon: ((lon + east / DEGREE + 180) % 360 + 360) % 360 - 180
  };
}
