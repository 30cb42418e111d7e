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
  fact(node, "When", make("span", "", utc(entry.time) + (entry.age ? ", " + entry.age + " old" : "")));
  fact(node, entry.kind === "u" ? "Not read:" : "Taken as", entry.understood && said(entry.understood));
  entry.questions.forEach(function (question) { fact(node, "Ask:", said(question)); });
  fact(node, "bdw".indexOf(entry.kind) >= 0 ? "Observer at" : "Middle", entry.place && make("span", "", degrees(entry.place)));
  fact(node, "Line", make("span", "", String(entry.line)));
  node.append(button("Close", "small", function () {
    chosen = null;
    node.hidden = true;
    redrawAll();
  }));
  panel.classList.add("open");
  document.querySelectorAll("[aria-current]").forEach(function (row) { row.removeAttribute("aria-current"); });
  var row = document.querySelector('[data-entry="' + index + '"]');
  if (row) { row.setAttribute("aria-current", "true"); }
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
  if (entry.kind === "u") { row.append(make("span", "flag", "Line " + entry.line + " not read")); }
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
    var warning = section("unread", "Lines not read: " + unread.length);
    var lines = make("ul", "rows");
    grow(lines, unread, 10, entryRow);
    warning.append(lines);
  }
  var node = section("reports", "Reports, newest first: " + entries.length);
  var label = make("label", "find", "Find "), input = make("input"), holder = make("div");
  input.type = "search";
  input.addEventListener("input", function () { fillReports(holder, input.value); });
  label.append(input);
  node.append(label, holder);
  fillReports(holder, "");
}

function fillReports(holder, words) {
  var wanted = words.trim().toLowerCase();
  var found = !wanted ? entries : entries.filter(function (entry) {
    return (entry.sender + " " + entry.subject + " " + entry.text).toLowerCase().includes(wanted);
  });
  var list = make("ul", "rows");
  holder.replaceChildren(list);
  if (!found.length) { holder.append(make("p", "quiet", wanted ? "No report has these words." : "None yet.")); }
  grow(list, found, 30, entryRow);
}
