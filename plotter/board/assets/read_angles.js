// Latitude and longitude in the few notations that a page reads by itself: both angles written alike, each
// character accounted for. What is read here means the same as in the Python core; the core reads far more,
// so all else is refused in words, never guessed.

// No angle is finer: what a calculator prints beyond it, nobody measured.
var FINEST_DEG = 1e-9;
var SAME_SIGN = [
  [/[º˚⁰∘*]/g, "°"], [/[’‘′´`ʹ]/g, "'"], [/[”“″ʺ]|''/g, "\""], [/[−–—‐‑]/g, "-"]
];
var PART_NAMES = ["degrees", "minutes", "seconds"];
var WRITE_ALIKE = "Write both angles alike, each with its side, as in 48.8582N 2.2945E or 48 51.49N 2 17.67E; " +
  "other notations are for the desk to read.";
var SIDES = { N: ["lat", 1], S: ["lat", -1], E: ["lon", 1], W: ["lon", -1] };
// One angle in each notation; "#" stands for a number with decimals, "@" for a side.
var NOTATIONS = [
  "([+-])?(#)°?", "(#)\\s*°?\\s*(@)", "(@)\\s*(#)\\s*°?",
  "(\\d{1,3})°\\s*(#)'?\\s*(@)", "(@)\\s*(\\d{1,3})°\\s*(#)'?",
  "(\\d{1,3})°\\s*(\\d{1,2})'\\s*(#)\"?\\s*(@)", "(@)\\s*(\\d{1,3})°\\s*(\\d{1,2})'\\s*(#)\"?",
  "(\\d{1,3})\\s+(#)\\s*(@)", "(@)\\s*(\\d{1,3})\\s+(#)",
  "(\\d{1,3})\\s+(\\d{1,2})\\s+(#)\\s*(@)", "(@)\\s*(\\d{1,3})\\s+(\\d{1,2})\\s+(#)",
  "(lat|latitude|lon|long|longitude)[ :]\\s*([+-])?(#)°?"
].map(function (angle, i) {
  angle = angle.replace(/#/g, "\\d+(?:[.,]\\d+)?").replace(/@/g, "north|south|east|west|[nsew]");
  // Two bare numbers need a gap between them.
  return new RegExp("^" + angle + "(\\s*[,;/]\\s*|\\s" + (i ? "*" : "+") + ")" + angle + "$", "i");
});

function sameSigns(text) {
  return SAME_SIGN.reduce(function (sum, pair) { return sum.replace(pair[0], pair[1]); }, text);
}

// Unsigned degrees and one unit of the last written figure, from degrees, minutes and seconds.
function degreesOfParts(parts) {
  var value = 0, decimals = (parts[parts.length - 1].split(".")[1] || "").length;
  parts.forEach(function (part, i) {
    if (i > 0 && Number(part) >= 60) {
      throw new Error("The " + PART_NAMES[i] + " " + part + " must be below 60: check for a misheard figure.");
    }
  });
  parts.slice().reverse().forEach(function (part) { value = Number(part) + value / 60; });
  return { value: value, unit: Math.pow(10, -decimals) / Math.pow(60, parts.length - 1) };
}

// Figures that run together as degrees, minutes, seconds; null where they do not fit.
function unpacked(number, whole) {
  var figures = number.split(".")[0].length, tail = number.slice(figures);
  if (figures === whole + 2) { return [number.slice(0, whole), number.slice(whole, figures) + tail]; }
  if (figures === whole + 4) {
    return [number.slice(0, whole), number.slice(whole, whole + 2), number.slice(whole + 2, figures) + tail];
  }
  return null;
}

function isoAngle(sign, number, axis) {
  var whole = axis === "lat" ? 2 : 3, parts = number.split(".")[0].length === whole ? [number] : unpacked(number, whole);
  if (!parts) {
    throw new Error("The figures " + number + " do not fit: expected two for latitude, three for " +
      "longitude, then two each for minutes and seconds.");
  }
  return angleOf({ parts: parts, sign: sign === "-" ? -1 : 1, axis: axis });
}

// Its parts as numbers, and its value; `assumed` is what that rests on.
function angleOf(angle) {
  var parts = angle.parts, packed = null, assumed = [];
  if (parts.length === 1 && parts[0].split(".")[0].length > 3) {
    packed = angle.axis && unpacked(parts[0], angle.axis === "lat" ? 2 : 3);
    // A leading zero of the longitude is often left unsaid.
    if (!packed && angle.axis === "lon") {
      packed = unpacked(parts[0], 2);
      assumed = [parts[0] + " is a longitude without its leading zero"];
    }
    if (!packed) {
      throw new Error(parts[0] + " is neither degrees nor run-together degrees, minutes and seconds: " +
        "ask for them apart.");
    }
  }
  return Object.assign(degreesOfParts(packed || parts), {
    sign: angle.sign, axis: angle.axis, written: parts.join(" "), assumed: assumed
  });
}

// What one notation's groups say; the parts keep a point before their decimals.
function saidAngle(groups) {
  var said = { parts: [], sign: 0, axis: "" };
  groups.forEach(function (group) {
    if (group === undefined) { return; }
    var side = SIDES[group[0].toUpperCase()];
    if (/^\d/.test(group)) {
      said.parts.push(group.replace(",", "."));
    } else if (group === "+" || group === "-") {
      said.sign = group === "-" ? -1 : 1;
    } else if (/^l/i.test(group)) {
      said.axis = /^la/i.test(group) ? "lat" : "lon";
    } else {
      said.axis = side[0]; said.sign = side[1];
    }
  });
  return said;
}

// Whole numbers apart by blanks may hold a decimal point that was not said: every way, the likeliest first.
function waysOf(first, second) {
  var count = first.parts.length, found = [], wrong = null;
  function pointed(angle, parts) {
    var kept = angle.parts.slice(0, parts), decimals = angle.parts.slice(parts).join("");
    if (decimals) { kept[parts - 1] += "." + decimals; }
    return angleOf(Object.assign({}, angle, { parts: kept }));
  }
  for (var parts = count; parts > 0; parts--) {
    try {
      var pair = [pointed(first, parts), pointed(second, parts)];
      pair[0].assumed.unshift(PART_NAMES.slice(0, parts).join(", ") + ": the words were not said");
      found.push(pair);
    } catch (error) { wrong = wrong || error; }
  }
  // Where the usual way cannot be, a figure may be wrong: that is asked about, and nothing is shown.
  if (wrong) { throw wrong; }
  return found;
}

// A comma is a decimal point in all numbers or in none, and then parts nothing else.
function hasOneComma(text, separator) {
  var commas = text.replace(separator, "").match(/\d,\d/g);
  return !commas || (!separator.includes(",") && !text.includes(".") && commas.length === 2);
}

// Every pair of angles that a text can mean; null where it is none of degrees.
function anglePairs(text) {
  var plain = sameSigns(text).trim(), match;
  // A raised or circled figure is a footnote, and no figure.
  if (/\p{No}/u.test(plain)) { throw new Error(WRITE_ALIKE); }
  if (/[^\x00-\x7f]/.test(plain)) { plain = sameSigns(plain.normalize("NFKC")); }
  match = /^geo:(-?\d+(?:\.\d+)?),(-?\d+(?:\.\d+)?)$/i.exec(plain);
  if (match) {
    return [[1, 2].map(function (i) {
      var bare = match[i].replace("-", "");
      return angleOf({ parts: [bare], sign: match[i] === bare ? 1 : -1, axis: i === 1 ? "lat" : "lon" });
    })];
  }
  match = /^([+-])(\d+(?:\.\d+)?)([+-])(\d+(?:\.\d+)?)\/?$/.exec(plain);
  if (match) { return [[isoAngle(match[1], match[2], "lat"), isoAngle(match[3], match[4], "lon")]]; }
  if (!/\d/.test(plain)) { return null; }
  for (var i = 0; i < NOTATIONS.length; i++) {
    match = NOTATIONS[i].exec(plain);
    if (match) { break; }
  }
  if (!match) { throw new Error(WRITE_ALIKE); }
  var half = match.length / 2, first = saidAngle(match.slice(1, half)), second = saidAngle(match.slice(half + 1));
  var all = first.parts.concat(second.parts);
  var whole = all.every(function (part) { return /^\d+$/.test(part); });
  if (!hasOneComma(plain, match[half]) || (whole && !first.axis && !first.sign && !second.sign)) {
    throw new Error(WRITE_ALIKE);
  }
  if (whole && first.parts.length > 1 && !plain.includes("°")) { return waysOf(first, second); }
  return [[angleOf(first), angleOf(second)]];
}
