// A place in UTM or UPS, MGRS and Maidenhead, and its declination and convergence: the Python core's
// arithmetic, with the same series, letters and magnetic model, handed over as `figures`.

function horner(terms, x) {
  return terms.reduceRight(function (sum, term) { return sum * x + term; }, 0);
}

// Sum of terms[j] sin 2(j+1)x, from the sine and cosine of x, by Clenshaw.
function sineSeries(terms, sin, cos) {
  var twice = 2 * (1 - 2 * sin * sin), later = 0, now = 0;
  for (var j = terms.length - 1; j >= 0; j -= 1) {
    var next = terms[j] + twice * now - later;
    later = now;
    now = next;
  }
  return now * 2 * sin * cos;
}

function complexSeries(terms, xi, eta) {
  var re = 0, im = 0;
  terms.forEach(function (term, j) {
    var n = 2 * (j + 1);
    re += term * Math.sin(n * xi) * Math.cosh(n * eta);
    im += term * Math.cos(n * xi) * Math.sinh(n * eta);
  });
  return [re, im];
}

function halfTurn(lon) {
  return ((lon + 180) % 360 + 360) % 360 - 180;
}

// 0 stands for the polar areas; Norway and Svalbard have wider zones.
function zoneOf(lat, lon) {
  if (lat < -80 || lat >= 84) { return 0; }
  var east = ((lon + 180) % 360 + 360) % 360;
  var zone = Math.min(Math.floor(east / 6), 59) + 1;
  if (lat >= 56 && lat < 64 && zone === 31 && east >= 183) { return 32; }
  if (lat >= 72 && east >= 180 && east < 222) {
    return east < 189 ? 31 : east < 201 ? 33 : east < 213 ? 35 : 37;
  }
  return zone;
}

function conformal(lat) {
  var phi = lat * DEGREE;
  return phi + sineSeries(figures.conformal, Math.sin(phi), Math.cos(phi));
}

function transverse(lat, east) {
  var chi = conformal(lat), lam = east * DEGREE;
  var xi = Math.atan2(Math.sin(chi), Math.cos(chi) * Math.cos(lam));
  var eta = Math.atanh(Math.cos(chi) * Math.sin(lam));
  var more = complexSeries(figures.krugerForward, xi, eta);
  return { x: figures.rectifyingRadius * (eta + more[1]), y: figures.rectifyingRadius * (xi + more[0]) };
}

function fromTransverse(x, y) {
  var xi = y / figures.rectifyingRadius, eta = x / figures.rectifyingRadius;
  var less = complexSeries(figures.krugerInverse, xi, eta);
  xi -= less[0];
  eta -= less[1];
  var sinh = Math.sinh(eta), root = Math.hypot(1, sinh), cos = Math.cos(xi);
  var sinChi = Math.sin(xi) / root, cosChi = Math.hypot(cos, sinh) / root;
  var lat = Math.atan2(sinChi, cosChi) + sineSeries(figures.geographic, sinChi, cosChi);
  return { lat: lat / DEGREE, east: Math.atan2(sinh, cos) / DEGREE };
}

var ECCENTRICITY = Math.sqrt(EARTH.f * (2 - EARTH.f));

function polarRadius() {
  var e = ECCENTRICITY;
  return 2 * figures.ups.k0 * EARTH.a / Math.sqrt(Math.pow(1 + e, 1 + e) * Math.pow(1 - e, 1 - e));
}

function polar(lat, lon) {
  var south = lat < 0, phi = Math.abs(lat) * DEGREE, e = ECCENTRICITY;
  var sin = Math.sin(phi), cos = Math.abs(lat) === 90 ? 0 : Math.cos(phi);
  var sigma = Math.sinh(e * Math.atanh(e * sin));
  var scaled = sin * Math.hypot(1, sigma) - sigma;
  var rho = polarRadius() * cos / (Math.hypot(cos, scaled) + scaled), lam = lon * DEGREE;
  var down = (south ? 1 : -1) * rho * Math.cos(lam);
  return {
    zone: 0, south: south,
    easting: figures.ups.falseEasting + rho * Math.sin(lam),
    northing: figures.ups.falseEasting + down
  };
}

function fromPolar(easting, northing, south) {
  var x = easting - figures.ups.falseEasting, y = northing - figures.ups.falseEasting;
  if (!south) { y = -y; }
  var chi = Math.PI / 2 - 2 * Math.atan(Math.hypot(x, y) / polarRadius());
  var lat = chi + sineSeries(figures.geographic, Math.sin(chi), Math.cos(chi));
  return { lat: (south ? -lat : lat) / DEGREE, lon: halfTurn(Math.atan2(x, y) / DEGREE) };
}

// Easting and northing on UTM, or on UPS where the zone is 0.
function gridOf(lat, lon, zone) {
  zone = zone === undefined ? zoneOf(lat, lon) : zone;
  if (zone === 0) { return polar(lat, lon); }
  var flat = transverse(lat, halfTurn(lon - (6 * zone - 183)));
  return {
    zone: zone, south: lat < 0,
    easting: figures.utm.falseEasting + figures.utm.k0 * flat.x,
    northing: (lat < 0 ? figures.utm.southFalseNorthing : 0) + figures.utm.k0 * flat.y
  };
}

function placeOfGrid(zone, easting, northing, south) {
  if (zone === 0) { return fromPolar(easting, northing, south); }
  var found = fromTransverse(
    (easting - figures.utm.falseEasting) / figures.utm.k0,
    (northing - (south ? figures.utm.southFalseNorthing : 0)) / figures.utm.k0
  );
  return { lat: found.lat, lon: halfTurn(found.east + 6 * zone - 183) };
}

function bandOf(lat) {
  var index = Math.min(Math.floor((lat + 80) / 8), 19), equator = figures.bands.indexOf("N");
  // A latitude too small to change 80 when added to it is still south of the equator.
  return figures.bands[lat < 0 && index === equator ? index - 1 : index];
}

function digits(metres, figuresASide) {
  var cut = Math.floor(metres % 100000 / Math.pow(10, 5 - figuresASide));
  return figuresASide ? String(cut).padStart(figuresASide, "0") : "";
}

// An MGRS reference, truncated, with so many figures for each of easting and northing.
function mgrsOf(lat, lon, figuresASide) {
  var grid = gridOf(lat, lon), nudge = figures.utm.nudge;
  var easting = Math.floor(grid.easting + nudge), northing = Math.floor(grid.northing + nudge), name;
  if (grid.zone === 0) {
    var letter = grid.south ? (easting >= 2000000 ? "B" : "A") : (easting >= 2000000 ? "Z" : "Y");
    var first = figures.polarColumns[letter];
    name = letter + first[1][Math.floor((easting - first[0]) / 100000)] +
      figures.polarRows[Math.floor((northing - figures.polarFirstRow[letter]) / 100000)];
  } else {
    // A hair south of the equator is still south of it.
    if (grid.south && northing === figures.utm.southFalseNorthing) { northing -= 1; }
    var row = Math.floor(northing / 100000) + (grid.zone % 2 ? 0 : figures.evenZonesFirstRow);
    name = String(grid.zone).padStart(2, "0") + bandOf(lat) +
      figures.columns[(grid.zone - 1) % 3][Math.floor(easting / 100000) - 1] + figures.rows[row % 20];
  }
  return name + digits(easting, figuresASide) + digits(northing, figuresASide);
}

// A number's own shortest decimal as a whole number of 1/10^scale: exact, as the Python core has it.
function exact(number) {
  var match = /^(-?)(\d+)(?:\.(\d+))?(?:e([+-]\d+))?$/.exec(String(number));
  var power = Number(match[4] || 0), fraction = match[3] || "";
  var value = BigInt(match[2] + fraction), scale = fraction.length - power;
  if (scale < 0) { value *= 10n ** BigInt(-scale); scale = 0; }
  return { value: match[1] ? -value : value, scale: scale };
}

function cellOf(degrees, span, cells) {
  var number = exact(degrees), unit = 10n ** BigInt(number.scale);
  var index = (number.value + BigInt(span / 2) * unit) * BigInt(cells) / (BigInt(span) * unit);
  return Math.min(Number(index), cells - 1);
}

// A locator of so many characters, truncated; it includes its southern and western edge.
function maidenheadOf(lat, lon, characters) {
  var bases = [18, 10, 24, 10, 24].slice(0, characters / 2);
  var cells = bases.reduce(function (product, base) { return product * base; }, 1);
  var row = cellOf(lat, 180, cells), column = cellOf(lon < -180 || lon >= 180 ? halfTurn(lon) : lon, 360, cells), text = "";
  for (var level = bases.length - 1; level >= 0; level -= 1) {
    var pair = [column % bases[level], row % bases[level]].map(function (digit) {
      return bases[level] === 10 ? String(digit) : String.fromCharCode((level ? 97 : 65) + digit);
    }).join("");
    text = pair + text;
    column = Math.floor(column / bases[level]);
    row = Math.floor(row / bases[level]);
  }
  return text;
}

// Grid north, clockwise from true north, degrees, by the grid's own lines.
function convergenceOf(lat, lon) {
  var zone = zoneOf(lat, lon);
  if (zone === 0) { return halfTurn(lat < 0 ? -lon : lon); }
  var chi = conformal(lat), lam = halfTurn(lon - (6 * zone - 183)) * DEGREE;
  var xi = Math.atan2(Math.sin(chi), Math.cos(chi) * Math.cos(lam));
  var eta = Math.atanh(Math.cos(chi) * Math.sin(lam)), p = 1, q = 0;
  figures.krugerForward.forEach(function (term, j) {
    var n = 2 * (j + 1);
    p += n * term * Math.cos(n * xi) * Math.cosh(n * eta);
    q += n * term * Math.sin(n * xi) * Math.sinh(n * eta);
  });
  return (Math.atan2(Math.sin(chi) * Math.sin(lam), Math.cos(lam)) + Math.atan2(q, p)) / DEGREE;
}

// Declination on the board's day, degrees east, at the height of the ellipsoid: Schmidt's harmonics.
function declinationOf(lat, lon) {
  var phi = lat * DEGREE, lam = lon * DEGREE, e2 = EARTH.f * (2 - EARTH.f);
  var prime = EARTH.a / Math.sqrt(1 - e2 * Math.sin(phi) * Math.sin(phi));
  var axis = prime * Math.cos(phi), z = prime * (1 - e2) * Math.sin(phi), radius = Math.hypot(axis, z);
  var sin = Math.max(axis / radius, 1e-10), cos = z / radius, ratio = 6371200 / radius;
  var outward = 0, south = 0, east = 0, diagonal = 1, diagonalSlope = 0;
  var g = figures.field.g, h = figures.field.h;
  for (var m = 0; m < g.length; m += 1) {
    if (m > 0) {
      var factor = m === 1 ? 1 : Math.sqrt((2 * m - 1) / (2 * m));
      diagonalSlope = factor * (cos * diagonal + sin * diagonalSlope);
      diagonal *= factor * sin;
    }
    var before = 0, slopeBefore = 0, value = diagonal, slope = diagonalSlope;
    for (var n = m; n < g.length; n += 1) {
      if (n > m) {
        var root = Math.sqrt(n * n - m * m), last = Math.sqrt((n - 1) * (n - 1) - m * m);
        var nextSlope = ((2 * n - 1) * (cos * slope - sin * value) - last * slopeBefore) / root;
        var next = ((2 * n - 1) * cos * value - last * before) / root;
        before = value; slopeBefore = slope; value = next; slope = nextSlope;
      }
      if (n === 0) { continue; }
      var cosM = Math.cos(m * lam), sinM = Math.sin(m * lam), power = Math.pow(ratio, n + 2);
      var inPhase = g[n][m] * cosM + h[n][m] * sinM;
      outward += (n + 1) * power * inPhase * value;
      south -= power * inPhase * slope;
      east += power * m * (g[n][m] * sinM - h[n][m] * cosM) * value / sin;
    }
  }
  var tilt = Math.atan2(z, axis) - phi;
  return Math.atan2(east, -south * Math.cos(tilt) + outward * Math.sin(tilt)) / DEGREE;
}
