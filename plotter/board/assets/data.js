// Reads the embedded data: whole millionths of a degree become points of the map's plane. `reports` holds
// the columns that unpack.js has taken apart.

var scene = block("scene-data");
var land = block("land-data");
var tiles = block("tile-data");
// What the instruments compute with: series, letters, the magnetic model.
var figures = block("figures");
var map = window.board_map;
// The library takes the map for a whole number of pixels high and stretches what the pointer says to
// it: half a pixel at the lower edge, where the rows around it leave a fraction.
map.mouseEventToContainerPoint = function (event) {
  var frame = map.getContainer().getBoundingClientRect();
  return L.point(event.clientX - frame.left, event.clientY - frame.top);
};

// The plane of zoom 0: 256 pixels for the world. At zoom z a point lies 2^z times as far out.
function plane(lat, lon) {
  var sin = Math.sin(Math.max(-85.0511, Math.min(85.0511, lat)) * Math.PI / 180);
  return [(lon / 360 + 0.5) * 256, (0.5 - Math.log((1 + sin) / (1 - sin)) / (4 * Math.PI)) * 256];
}

// x, y, x, y ... of a path written as steps.
function path(steps, start) {
  var points = new Float64Array(steps.length);
  var lat = start ? start[0] : 0, lon = start ? start[1] : 0;
  for (var i = 0; i < steps.length; i += 2) {
    lat += steps[i];
    lon += steps[i + 1];
    var point = plane(lat / 1e6, lon / 1e6);
    points[i] = point[0];
    points[i + 1] = point[1];
  }
  return points;
}

// Not paths.map(path): that would take each one's number for its start.
function paths(list) {
  return list.map(function (steps) { return path(steps); });
}

function at(place) {
  return L.latLng(place[0] / 1e6, place[1] / 1e6);
}

var DOUBTFUL = 1, OUT_OF_PLACE = 2;
var REPORT_KINDS = "pbdwgmnu", ROLES = "stp", NO_PLACE = "mnu";
var columns = reports.columns;

// A report is its number: what is asked of it is looked up in the columns.
function Report(index) { this.index = index; }

function lookUp(of, name, get) { Object.defineProperty(of, name, { get: get }); }

["sender", "subject", "text", "understood"].forEach(function (name) {
  lookUp(Report.prototype, name, function () { return reports.texts[columns[name][this.index]]; });
});
lookUp(Report.prototype, "kind", function () { return REPORT_KINDS[columns.kind[this.index]]; });
lookUp(Report.prototype, "called", function () {
  return (reports.ofLog ? "Entry " : "Line ") + (reports.texts[columns.called[this.index]] || columns.line[this.index]);
});
lookUp(Report.prototype, "time", function () {
  return columns.timed[this.index] ? scene.last - columns.time[this.index] : null;
});
lookUp(Report.prototype, "place", function () {
  return NO_PLACE.indexOf(this.kind) >= 0 ? null : [columns.lat[this.index], columns.lon[this.index]];
});
lookUp(Report.prototype, "questions", function () { return questionsOf[this.index] || []; });

var questionsOf = {};
scene.questions.forEach(function (question) {
  (questionsOf[question[0]] = questionsOf[question[0]] || []).push(question[2]);
});

// Newest first.
var entries = Array.from(columns.line, function (_, index) { return new Report(index); });

// A reported position, likewise; where it is drawn is worked out once for all.
function Mark(index) { this.index = index; }

lookUp(Mark.prototype, "entry", function () { return entries[columns.markEntry[this.index]]; });
lookUp(Mark.prototype, "name", function () { return reports.texts[columns.markName[this.index]]; });
lookUp(Mark.prototype, "role", function () { return ROLES[columns.markRole[this.index]]; });
lookUp(Mark.prototype, "doubtful", function () { return (columns.markFlags[this.index] & DOUBTFUL) !== 0; });
lookUp(Mark.prototype, "latest", function () { return newest[this.index] === 1; });
lookUp(Mark.prototype, "wide", function () { return markWide[this.index]; });
lookUp(Mark.prototype, "x", function () { return markX[this.index]; });
lookUp(Mark.prototype, "y", function () { return markY[this.index]; });
lookUp(Mark.prototype, "others", function () { return othersOf[this.index] || []; });

var marks = Array.from(columns.markEntry, function (_, index) { return new Mark(index); });
var markX = new Float64Array(marks.length), markY = new Float64Array(marks.length);
// The narrower side of each square on the plane; thousands are never drawn.
var markWide = new Float64Array(marks.length), cornersFrom = new Uint32Array(marks.length + 1);
var othersOf = {};
scene.others.forEach(function (pair) { othersOf[pair[0]] = paths(pair[1]); });

(function () {
  for (var i = 0, from = 0; i < marks.length; i += 1) {
    var entry = columns.markEntry[i], lat = columns.lat[entry], point = plane(lat / 1e6, columns.lon[entry] / 1e6);
    markX[i] = point[0];
    markY[i] = point[1];
    var low = Infinity, high = -Infinity, west = Infinity, east = -Infinity, end = from + columns.corners[i];
    for (; from < end; from += 1) {
      var up = columns.cornerLat[from], across = columns.cornerLon[from];
      if (up < low) { low = up; }
      if (up > high) { high = up; }
      if (across < west) { west = across; }
      if (across > east) { east = across; }
    }
    var stretch = Math.max(Math.cos(lat / 1e6 * Math.PI / 180), 0.01);
    markWide[i] = Math.min((high - low) / stretch, east - west) * 256 / 360e6;
    cornersFrom[i + 1] = end;
  }
})();

function squareOf(index) {
  var entry = columns.markEntry[index], found = [];
  for (var i = cornersFrom[index]; i < cornersFrom[index + 1]; i += 1) {
    found.push.apply(found, plane((columns.lat[entry] + columns.cornerLat[i]) / 1e6,
      (columns.lon[entry] + columns.cornerLon[i]) / 1e6));
  }
  return found;
}

var bearings = scene.bearings.map(function (bearing) {
  return {
    entry: entries[bearing.entry],
    label: bearing.label,
    line: path(bearing.line),
    wedge: path(bearing.wedge),
    doubtful: bearing.doubtful
  };
});

function answerAt(answer) {
  var best = plane(answer.best[0] / 1e6, answer.best[1] / 1e6);
  return {
    at: answer.at,
    sector: answer.sector, called: answer.called,
    x: best[0],
    y: best[1],
    pieces: answer.pieces.map(function (piece) {
      var point = plane(piece.best[0] / 1e6, piece.best[1] / 1e6);
      return {
        probability: piece.probability,
        share: piece.share,
        x: point[0],
        y: point[1],
        rings: paths(piece.rings)
      };
    })
  };
}

// One time for what stands still; else the latest last, and that one is shown first.
var answers = scene.answers.map(function (answer) {
  var times = answer.earlier.concat([answer]).map(answerAt);
  var found = { subject: answer.subject, times: times, chosen: times.length - 1 };
  return Object.assign(found, times[found.chosen]);
});
