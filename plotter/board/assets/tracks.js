// Where each has been: its reported places joined in order of time, with their ages.

// Beyond this many in view, dots and ages would only be noise.
var MOST_LABELLED_TRACKS = 200;
// Places nearer together on the screen are not joined one by one, and ages stand farther apart than this.
var TRACK_STEP_PX = 2, AGE_STEP_PX = 34;

function inTrack(index) {
  return columns.markEntry[index] >= cut && !(columns.markFlags[index] & OUT_OF_PLACE);
}

var trackNames = Object.keys(marksOfName).filter(function (name) { return marksOfName[name].length > 1; });
var trackBounds = {};
trackNames.forEach(function (name) {
  var points = [];
  marksOfName[name].forEach(function (index) { points.push(markX[index], markY[index]); });
  trackBounds[name] = box(points);
});

function drawTracks(pen, labels) {
  var seen = trackNames.filter(function (name) { return pen.sees(trackBounds[name]); });
  var few = seen.length <= MOST_LABELLED_TRACKS, now = asAt();
  pen.ctx.beginPath();
  seen.forEach(function (name) { drawTrack(pen, marksOfName[name].filter(inTrack), few ? labels : null, now); });
  // Dots cost far more than a line when there are thousands.
  pen.ctx.globalAlpha = few ? 1 : 0.3;
  pen.stroke(inks.report, few ? 1.25 : 0.75, few ? [2, 5] : []);
  pen.ctx.globalAlpha = 1;
}

function drawTrack(pen, track, labels, now) {
  var lastX = NaN, lastY = NaN, agedX = NaN, agedY = NaN;
  for (var i = 0; i < track.length; i += 1) {
    var x = pen.x(markX[track[i]]), y = pen.y(markY[track[i]]), end = i === 0 || i === track.length - 1;
    if (i === 0) { pen.ctx.moveTo(x, y); }
    if (!end && Math.abs(x - lastX) + Math.abs(y - lastY) < TRACK_STEP_PX) { continue; }
    pen.ctx.lineTo(x, y);
    lastX = x;
    lastY = y;
    if (!labels || i === track.length - 1 || Math.hypot(x - agedX, y - agedY) < AGE_STEP_PX) { continue; }
    var age = ageWords(marks[track[i]].entry.time, now);
    if (!age) { continue; }
    labels.push({ text: age, x: x, y: y, order: 60, ink: inks.report, size: 15, places: around(9) });
    agedX = x;
    agedY = y;
  }
}
