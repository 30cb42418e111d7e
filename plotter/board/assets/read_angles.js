// Latitude and longitude as people write them: the Python core's reading, word for word, so that a text
// means the same here and there. What cannot be read is told by an error in words.

// No angle is finer: what a calculator prints beyond it, nobody measured.
var FINEST_DEG = 1e-9;
var SAME_SIGN = [
  [/[º˚⁰∘*]/g, "°"], [/[’‘′´`ʹ]/g, "'"], [/[”“″ʺ]/g, "\""], [/[−–—‐‑]/g, "-"]
];
var ANGLE_WORDS = {
  N: "N", NORTH: "N", S: "S", SOUTH: "S", E: "E", EAST: "E", W: "W", WEST: "W",
  D: "°", DEG: "°", DEGS: "°", DEGREE: "°", DEGREES: "°",
  M: "'", MIN: "'", MINS: "'", MINUTE: "'", MINUTES: "'",
  SEC: "\"", SECS: "\"", SECOND: "\"", SECONDS: "\"",
  LAT: "lat", LATITUDE: "lat", LON: "lon", LONG: "lon", LNG: "lon", LONGITUDE: "lon",
  MINUS: "-", PLUS: "+", AND: ","
};
var LETTER_AXIS = { N: "lat", S: "lat", E: "lon", W: "lon" };
var MARK_PLACE = { "°": 0, "'": 1, "\"": 2 };

function has(object, key) {
  return Object.prototype.hasOwnProperty.call(object, key);
}

function isNumber(token) {
  return /^[\d.]/.test(token);
}

function sameSigns(text) {
  return SAME_SIGN.reduce(function (sum, pair) { return sum.replace(pair[0], pair[1]); }, text);
}

// Unsigned degrees and one unit of the last written figure, from degrees, minutes and seconds.
function degreesOfParts(parts) {
  var names = ["degrees", "minutes", "seconds"], value = 0, last = parts[parts.length - 1];
  parts.forEach(function (part, i) {
    if (i < parts.length - 1 && part.includes(".")) {
      throw new Error("The " + names[i] + " " + part + " have decimals, but " + names[i + 1] +
        " follow: only the last part may have decimals.");
    }
    if (i > 0 && Number(part) >= 60) {
      throw new Error("The " + names[i] + " " + part + " must be below 60: check for a misheard figure.");
    }
  });
  parts.slice().reverse().forEach(function (part) { value = Number(part) + value / 60; });
  var decimals = (last.split(".")[1] || "").length;
  return { value: value, unit: Math.pow(10, -decimals) / Math.pow(60, parts.length - 1) };
}

// Run-together figures as degrees, minutes, seconds; null where they do not fit.
function unpacked(number, whole) {
  var parts = number.split("."), first = parts[0], tail = parts.length > 1 ? "." + parts[1] : "";
  if (first.length <= whole) { return [number]; }
  if (first.length === whole + 2) { return [first.slice(0, whole), first.slice(whole) + tail]; }
  if (first.length === whole + 4) {
    return [first.slice(0, whole), first.slice(whole, whole + 2), first.slice(whole + 2) + tail];
  }
  return null;
}

function isoAngle(sign, number, axis) {
  var parts = unpacked(number, axis === "lat" ? 2 : 3);
  if (!parts) {
    throw new Error("The figures " + number + " do not fit: expected two for latitude, three for " +
      "longitude, then two each for minutes and seconds.");
  }
  return Object.assign(degreesOfParts(parts), {
    sign: sign === "-" ? -1 : 1, axis: axis, written: number, assumed: []
  });
}

function geoAngle(part, axis) {
  if (!/^-?(\d+\.?\d*|\.\d+)$/.test(part)) { throw new Error("“" + part + "” is not a number."); }
  var bare = part.replace("-", "");
  return Object.assign(degreesOfParts([bare]), {
    sign: part[0] === "-" ? -1 : 1, axis: axis, written: part, assumed: []
  });
}

// Numbers, and single signs for everything else; null at the first foreign word.
function angleTokens(plain) {
  var tight = plain.match(/\d,(?=\d)/g) || [], tokens = [], at = 0, match;
  if (!plain.includes(".") && tight.length === 2 && !/\d,\d+,\d/.test(plain)) {
    plain = plain.replace(/(\d),(?=\d)/g, "$1.");
  }
  plain = plain.replace(/([\d.])([dms])(?=[NSEW]\b)/gi, "$1$2 ");
  var token = /\s*(?:(\d+(?:\.\d*)?|\.\d+)|([A-Za-z]+)|(''|[^\sA-Za-z\d]))/y;
  while (at < plain.length) {
    token.lastIndex = at;
    match = token.exec(plain);
    if (!match) { break; }
    var start = at;
    at = token.lastIndex;
    if (match[1]) {
      tokens.push(match[1]);
    } else if (match[2]) {
      if (!has(ANGLE_WORDS, match[2].toUpperCase())) { return null; }
      // "29s" is seconds where minutes came just before, else a hemisphere.
      var seconds = match[2] === "s" && tokens[tokens.length - 2] === "'";
      tokens.push(seconds ? "\"" : ANGLE_WORDS[match[2].toUpperCase()]);
    } else if (match[3] === "''") {
      tokens.push("\"");
    } else if ("°'\",;/:+-".includes(match[3])) {
      var before = tokens[tokens.length - 1];
      var joins = match[3] === "-" && plain.slice(start, at) === "-" && /\d/.test(plain[at] || "") &&
        before !== undefined && isNumber(before);
      tokens.push(joins ? ":" : match[3]);
    } else if (!"|=()[]".includes(match[3])) {
      return null;
    }
  }
  return tokens;
}

function splitBefore(tokens, heads) {
  var pieces = [[]];
  tokens.forEach(function (token) {
    if (has(heads, token)) { pieces.push([]); }
    pieces[pieces.length - 1].push(token);
  });
  return pieces;
}

function splitAfter(tokens, tails) {
  var pieces = [[]];
  tokens.forEach(function (token) {
    pieces[pieces.length - 1].push(token);
    if (has(tails, token)) { pieces.push([]); }
  });
  return pieces;
}

// By a separator that leaves both sides alike, else by a second degree mark, else in half.
function splitUnlettered(tokens) {
  function places(test) {
    return tokens.map(function (token, i) { return test(token, i) ? i : -1; })
      .filter(function (i) { return i >= 0; });
  }
  function cut(i, skip) { return [tokens.slice(0, i), tokens.slice(i + skip)]; }
  var separators = [";", "/", ","].map(function (sign) {
    return places(function (token) { return token === sign; });
  }).filter(function (found) { return found.length === 1; });
  if (separators.length) { return cut(separators[0][0], 1); }
  var signs = places(function (token, i) { return i > 0 && (token === "+" || token === "-"); });
  if (signs.length === 1) { return cut(signs[0], 0); }
  var marks = places(function (token) { return token === "°"; });
  if (marks.length === 2) { return cut(marks[1] - 1, 0); }
  var numbers = places(isNumber);
  return numbers.length % 2 ? [tokens] : cut(numbers[numbers.length / 2], 0);
}

function angleGroups(tokens) {
  var pieces, first = tokens.find(function (token) { return has(LETTER_AXIS, token) || isNumber(token); });
  if (tokens.includes("lat") || tokens.includes("lon")) {
    pieces = splitBefore(tokens, { lat: 1, lon: 1 });
  } else if (tokens.some(function (token) { return has(LETTER_AXIS, token); })) {
    pieces = (has(LETTER_AXIS, first) ? splitBefore : splitAfter)(tokens, LETTER_AXIS);
  } else {
    pieces = splitUnlettered(tokens);
  }
  function counts(piece) { return piece.some(isNumber); }
  pieces = pieces.filter(counts);
  if (pieces.length === 1) { pieces = splitUnlettered(pieces[0]); }
  if (pieces.length !== 2 || !pieces.every(counts)) {
    throw new Error("This does not make one latitude and one longitude: expected two angles, as in " +
      "48.8582N 2.2945E or 48 51 29N 2 17 40E.");
  }
  var groups = pieces.map(collected);
  if (groups.some(function (group) { return group.numbers.length > 3; })) {
    throw new Error("One angle has more than degrees, minutes and seconds: write latitude and longitude apart.");
  }
  return groups;
}

function collected(piece) {
  var group = { numbers: [], sign: "", letter: "", label: "" };
  piece.forEach(function (token) {
    if (isNumber(token)) {
      group.numbers.push(token);
    } else if (has(MARK_PLACE, token)) {
      if (group.numbers.length && group.numbers.length - 1 !== MARK_PLACE[token]) {
        throw new Error(group.numbers[group.numbers.length - 1] + " carries the wrong mark " + token +
          ": expected degrees, then minutes, then seconds.");
      }
    } else if (has(LETTER_AXIS, token)) {
      if (group.letter && group.letter !== token) {
        throw new Error("One angle carries both " + group.letter + " and " + token + ": ask which.");
      }
      group.letter = token;
    } else if (token === "lat" || token === "lon") {
      group.label = token;
    } else if (token === "+" || token === "-") {
      if (group.numbers.length) { throw new Error("A sign stands after the number: write the angle again."); }
      group.sign = token;
    }
  });
  return group;
}

function angleOf(group) {
  var axis = group.letter ? LETTER_AXIS[group.letter] : group.label, parts = group.numbers;
  if (group.letter && group.label && axis !== group.label) {
    throw new Error("The letter " + group.letter + " does not belong to a " +
      (group.label === "lat" ? "latitude" : "longitude") + ": ask which.");
  }
  if (parts.length === 1 && axis) {
    var packed = unpacked(parts[0], axis === "lat" ? 2 : 3), figuresBefore = parts[0].split(".")[0].length;
    // A leading zero of the longitude is often left unsaid.
    if (!packed || (axis === "lon" && (figuresBefore === 4 || figuresBefore === 6))) {
      packed = axis === "lon" ? unpacked(parts[0], 2) : null;
    }
    if (!packed) {
      throw new Error(parts[0] + " is neither degrees nor run-together degrees, minutes and seconds: " +
        "ask for them apart.");
    }
    parts = packed;
  }
  var byLetter = !group.letter ? 0 : "SW".includes(group.letter) ? -1 : 1;
  var bySign = !group.sign ? 0 : group.sign === "-" ? -1 : 1;
  if (byLetter === 1 && bySign === -1) {
    throw new Error("There is a minus sign and the letter " + group.letter + ": ask which side.");
  }
  return Object.assign(degreesOfParts(parts), {
    sign: byLetter || bySign, axis: axis, written: group.numbers.join(" "),
    assumed: byLetter === -1 && bySign === -1 ? ["the minus sign only repeats the letter " + group.letter] : []
  });
}

function twoAngles(text) {
  var plain = sameSigns(text).trim(), match;
  if (/[^\x00-\x7f]/.test(plain)) { plain = sameSigns(plain.normalize("NFKC")); }
  match = /^geo:(-?[\d.]+),(-?[\d.]+)(?:,-?[\d.]+)?(?:;.*)?$/i.exec(plain);
  if (match) { return [geoAngle(match[1], "lat"), geoAngle(match[2], "lon")]; }
  match = /^([+-])(\d+(?:\.\d+)?)([+-])(\d+(?:\.\d+)?)(?:[+-]\d+(?:\.\d+)?)?(?:CRS\w+)?\/?$/.exec(plain);
  if (match) { return [isoAngle(match[1], match[2], "lat"), isoAngle(match[3], match[4], "lon")]; }
  var tokens = angleTokens(plain);
  if (!tokens || !tokens.some(isNumber)) { return null; }
  var groups = angleGroups(tokens), first = groups[0], second = groups[1];
  // Where one of two bare numbers carries a minus, the other one is meant to be positive.
  if (!first.letter && !second.letter && (first.sign === "-" || second.sign === "-")) {
    groups.forEach(function (group) { group.sign = group.sign || "+"; });
  }
  return groups.map(angleOf);
}
