// What had been said by the time that is looked at. Reports are numbered newest first: those from `cut` on.

var cut = 0;
// Of each mark, whether it is the latest of its name among what is shown; the marks that are.
var newest = new Uint8Array(marks.length), latestMarks = [];
// The mark of a report, or -1; and for each name its marks, oldest first.
var markOf = new Int32Array(entries.length).fill(-1), marksOfName = {};

(function () {
  columns.markEntry.forEach(function (entry, index) { markOf[entry] = index; });
  inOrderOfTime().reverse().forEach(function (index) {
    var name = columns.markName[index];
    (marksOfName[name] = marksOfName[name] || []).push(index);
  });
})();

// Marks from the newest; those without a time after all others.
function inOrderOfTime() {
  var timed = [], untimed = [];
  for (var entry = 0; entry < entries.length; entry += 1) {
    if (markOf[entry] >= 0) { (columns.timed[entry] ? timed : untimed).push(markOf[entry]); }
  }
  return timed.concat(untimed);
}

function isShown(entry) { return entry.index >= cut; }

function findLatest() {
  newest.fill(0);
  latestMarks = [];
  Object.keys(marksOfName).forEach(function (name) {
    var all = marksOfName[name], last = all.length - 1;
    while (last >= 0 && columns.markEntry[all[last]] < cut) { last -= 1; }
    if (last < 0) { return; }
    newest[all[last]] = 1;
    latestMarks.push(marks[all[last]]);
  });
}
findLatest();

// The time that ages count from.
function asAt() {
  for (var i = cut; cut > 0 && i < entries.length; i += 1) {
    if (columns.timed[i]) { return entries[i].time; }
  }
  return scene.asAt;
}

function span(minutes) {
  if (minutes < 60) { return minutes + " min"; }
  if (minutes < 1440) { return Math.floor(minutes / 60) + " h " + two(minutes % 60); }
  return Math.floor(minutes / 1440) + " d " + Math.floor(minutes % 1440 / 60) + " h";
}

function ageWords(since, now) {
  if (since === null || now === null) { return ""; }
  var minutes = Math.floor((now - since) / 60);
  return minutes < 0 ? "in " + span(-minutes) : minutes === 0 ? "now" : span(minutes);
}

function ageOf(entry) { return ageWords(entry.time, asAt()); }
