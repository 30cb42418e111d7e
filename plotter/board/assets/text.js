// What people said is shown as text and nothing else: never as markup, never able to reorder a line.

// Control, format and separator characters, private use and lone halves: they become their code point.
var UNSEEN = /[\p{Cc}\p{Cf}\p{Zl}\p{Zp}\p{Cs}\p{Co}\p{Cn}]/gu;
var MARK_PILE = /(\p{M}{3})\p{M}+/gu;
var LONGEST = 280;

function codePoint(character) {
  var hex = character.codePointAt(0).toString(16).toUpperCase();
  return "[U+" + hex.padStart(4, "0") + "]";
}

function plain(text) {
  return text.replace(UNSEEN, codePoint).replace(MARK_PILE, "$1[more marks]");
}

function shortened(text, most) {
  var letters = Array.from(plain(text));
  return letters.length <= most ? letters.join("") : letters.slice(0, most - 1).join("") + "…";
}

function make(tag, className, text) {
  var node = document.createElement(tag);
  if (className) { node.className = className; }
  if (text !== undefined) { node.textContent = plain(text); }
  return node;
}

// Words from outside: isolated from the line around them; long ones can be opened.
function said(text, className) {
  var node = make("bdi", "said " + (className || ""));
  var letters = Array.from(plain(text));
  if (letters.length <= LONGEST) {
    node.textContent = letters.join("");
    return node;
  }
  var words = make("span", "", letters.slice(0, LONGEST).join("") + "…");
  var more = button("Show all " + letters.length + " characters", "small", function () {
    words.textContent = letters.join("");
    more.remove();
  });
  node.append(words, " ", more);
  return node;
}

function button(words, className, action) {
  var node = make("button", className, words);
  node.type = "button";
  node.addEventListener("click", action);
  return node;
}

function two(number) {
  return String(number).padStart(2, "0");
}

function utc(seconds) {
  if (seconds === null) { return "time not read"; }
  var time = new Date(seconds * 1000);
  return time.getUTCFullYear() + "-" + two(time.getUTCMonth() + 1) + "-" + two(time.getUTCDate()) +
    " " + two(time.getUTCHours()) + ":" + two(time.getUTCMinutes()) + " UTC";
}

// The hour alone on the day of the last report, else with its day.
function utcClock(seconds) {
  if (seconds === null) { return "--:--"; }
  var words = utc(seconds), sameDay = words.slice(0, 10) === utc(scene.last).slice(0, 10);
  return sameDay ? words.slice(11, 16) : words.slice(0, 16);
}

function localClock(seconds) {
  var time = new Date(seconds * 1000);
  return two(time.getHours()) + ":" + two(time.getMinutes()) + " here";
}

function degrees(place) {
  var lat = place[0] / 1e6, lon = ((place[1] / 1e6 + 540) % 360 + 360) % 360 - 180;
  return Math.abs(lat).toFixed(5) + "° " + (lat < 0 ? "S" : "N") + ", " +
    Math.abs(lon).toFixed(5) + "° " + (lon < 0 ? "W" : "E");
}
