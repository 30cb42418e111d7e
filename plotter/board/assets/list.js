// The reports, newest first, and the one that is chosen.

var chosen = null;

function chosenSection() {
  var node = section("chosen", "Chosen report");
  node.hidden = true;
  node.setAttribute("aria-live", "polite");
}

function fact(node, name, value) {
  if (!value) { return; }
  var row = make("p", "fact");
  row.append(make("span", "quiet", name + " "), value);
  node.append(row);
}

function choose(index, move) {
  chosen = index;
  var entry = entries[index], node = document.getElementById("chosen");
  node.replaceChildren(node.querySelector("h2"));
  node.hidden = false;
  var heard = make("blockquote");
  heard.append(said(entry.text || "(no words)"));
  node.append(heard);
  fact(node, "From", said(entry.sender || "unknown"));
  fact(node, "About", entry.subject && said(entry.subject));
  fact(node, "When", make("span", "", utc(entry.time)));
  fact(node, "Age", ageOf(entry) && make("span", "", ageOf(entry)));
  fact(node, entry.kind === "u" ? "Not read:" : "Taken as", entry.understood && said(entry.understood));
  entry.questions.forEach(function (question) { fact(node, "Ask:", said(question)); });
  fact(node, "bdw".indexOf(entry.kind) >= 0 ? "Observer at" : "Middle", entry.place && make("span", "", degrees(entry.place)));
  node.append(make("p", "fact", entry.called));
  node.append(button("Close", "small", function () {
    chosen = null;
    node.hidden = true;
    redrawAll();
  }));
  panel.classList.add("open");
  showRow(index);
  document.querySelectorAll("[aria-current]").forEach(function (row) { row.removeAttribute("aria-current"); });
  document.querySelectorAll('[data-entry="' + index + '"]').forEach(function (row) { row.setAttribute("aria-current", "true"); });
  if (move && entry.place) { map.panTo(at(entry.place), { animate: false }); }
  node.scrollIntoView({ block: "nearest" });
  redrawAll();
}

function entryRow(entry) {
  var item = make("li");
  var row = button("", "row", function () { choose(entry.index, true); });
  row.dataset.entry = entry.index;
  if (chosen === entry.index) { row.setAttribute("aria-current", "true"); }
  row.append(make("span", "time", utcClock(entry.time)), said(entry.sender, "who"));
  if (entry.subject && entry.subject !== entry.sender) { row.append(" about ", said(entry.subject, "who")); }
  if (entry.kind === "u") { row.append(make("span", "flag", entry.called + " not read")); }
  if (entry.questions.length) { row.append(make("span", "flag", "ask")); }
  var words = make("span", "words");
  words.append(make("bdi", "said", shortened(entry.text, 160)));
  if (entry.kind === "u") { words.append(make("span", "reason", entry.understood)); }
  row.append(words);
  item.append(row);
  return item;
}

function reportSection() {
  var unread = entries.filter(function (entry) { return entry.kind === "u"; });
  if (unread.length) {
    var warning = section("unread", (reports.ofLog ? "Entries" : "Lines") + " not read: " + unread.length);
    var lines = make("ul", "rows");
    grow(lines, unread, 10, entryRow);
    warning.append(lines);
  }
  var node = section("reports", "Reports, newest first: " + entries.length);
  var label = make("label", "find", "Find "), input = make("input");
  input.type = "search";
  input.addEventListener("input", function () {
    clearTimeout(list.waiting);
    list.waiting = setTimeout(function () {
      list.words = input.value.trim().toLowerCase();
      list.first = 0;
      fillReports();
    }, entries.length > 5000 ? 200 : 0);
  });
  label.append(input);
  list.rows = make("ul", "rows");
  list.count = make("p", "quiet");
  list.count.setAttribute("aria-live", "polite");
  list.newer = button("Newer", "", function () { turnPage(-PAGE); });
  list.older = button("Older", "", function () { turnPage(PAGE); });
  var pages = make("div", "choices pages");
  pages.append(list.newer, list.older);
  node.append(label, list.count, list.rows, pages);
  fillReports();
}

// A page of the list at a time: ten thousand rows at once would stop a tablet.
var PAGE = 30;
var pageRows = PAGE;
var list = { words: "", first: 0, found: [], lowered: null, waiting: 0 };

function lowered(index) {
  if (!list.lowered) {
    list.lowered = entries.map(function (entry) {
      return (entry.sender + "\n" + entry.subject + "\n" + entry.text).toLowerCase();
    });
  }
  return list.lowered[index];
}

function fillReports() {
  var found = [];
  for (var i = cut; i < entries.length; i += 1) {
    if (!list.words || lowered(i).includes(list.words)) { found.push(i); }
  }
  list.found = found;
  list.first = Math.max(0, Math.min(list.first, found.length - 1));
  list.first -= list.first % PAGE;
  showPage();
}

function turnPage(by) {
  list.first += by;
  showPage();
  list.count.scrollIntoView({ block: "nearest" });
}

function showPage() {
  var end = Math.min(list.first + pageRows, list.found.length), all = list.found.length;
  list.rows.replaceChildren.apply(list.rows, list.found.slice(list.first, end).map(function (index) {
    return entryRow(entries[index]);
  }));
  var hidden = cut ? "; later ones are not shown" : "";
  list.count.textContent = !entries.length ? "None yet." : !all ? "No report has these words" + hidden + "." :
    all <= PAGE && !list.words && !cut ? "" : (list.first + 1) + " to " + end + " of " + all + hidden + ".";
  list.newer.disabled = list.first === 0;
  list.older.disabled = end >= all;
  list.newer.parentNode.hidden = all <= PAGE;
}

// Turns to the page where a report stands, if it is among those that are found.
function showRow(index) {
  var place = list.found.indexOf(index);
  if (place < 0 || (place >= list.first && place < list.first + PAGE)) { return; }
  list.first = place - place % PAGE;
  showPage();
}
