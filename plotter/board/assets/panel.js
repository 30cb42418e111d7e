// The column: the answer in words, its position, the way there, questions, reports, layers, cautions.

var panel = document.getElementById("panel");

function section(id, title) {
  var node = make("section");
  node.id = id;
  var heading = make("h2", "", title);
  heading.id = id + "-title";
  node.setAttribute("aria-labelledby", heading.id);
  node.append(heading);
  panel.append(node);
  return node;
}

function answerSection(answer, index) {
  var node = section("answer-" + index, "");
  var heading = node.querySelector("h2");
  var body = make("div"), times = answer.earlier.concat([answer]);
  heading.append(said(answer.subject));
  function show(number) { answerBody(body, times[number]); }
  if (answer.at !== null) { node.append(timeChoice(index, show)); }
  show(answers[index].chosen);
  node.append(body);
}

function answerBody(node, answer) {
  node.replaceChildren();
  answer.findings.forEach(function (finding, order) {
    node.append(paragraph(finding, order === 0 ? "headline" : "finding"));
  });
  node.append(button("Show on the map", "", function () {
    map.setView(at(answer.best), Math.max(map.getZoom(), 11));
  }));
  // A direction, a ring or an area has no point to send anybody to: it is told in words alone.
  if (answer.sector) { return; }
  node.append(make("h3", "", "Best point"));
  var list = make("dl", "formats");
  answer.formats.forEach(function (format) { list.append.apply(list, formatRow(format)); });
  node.append(list);
  if (answer.sights.length) { node.append(make("h3", "", "From each station"), sights(answer)); }
}

function paragraph(text, className) {
  var node = make("p", className);
  node.append(said(text));
  return node;
}

// The gaps between spoken groups are space in the layout, not characters: they are not copied.
function formatRow(format) {
  var value = make("dd"), words = make("span", "reference");
  format[2].forEach(function (group) { words.append(make("span", "group", group)); });
  var copy = button("Copy", "small", function () {
    copyText(format[1], words);
    copy.textContent = "Copied";
  });
  copy.setAttribute("aria-label", "Copy " + format[0]);
  value.append(words, copy);
  return [make("dt", "", format[0]), value];
}

function copyText(text, node) {
  var range = document.createRange(), selection = window.getSelection();
  range.selectNodeContents(node);
  selection.removeAllRanges();
  selection.addRange(range);
  if (navigator.clipboard && window.isSecureContext) {
    navigator.clipboard.writeText(text).catch(function () { document.execCommand("copy"); });
  } else {
    document.execCommand("copy");
  }
}

function sights(answer) {
  var node = make("div");
  var list = make("ul", "sights");
  answer.sights.forEach(function (sight) {
    var item = make("li");
    item.append(said(sight[0], "who"), make("span", "far", sight[1]), make("span", "way", sight[2]),
      make("span", "way", sight[3]));
    list.append(item);
  });
  node.append(list);
  if (answer.sightsLeftOut) {
    node.append(make("p", "quiet", answer.sightsLeftOut + " farther stations are not listed."));
  }
  return node;
}

function questionSection() {
  var node = section("questions", "Questions to ask");
  if (!scene.questions.length) {
    node.append(make("p", "quiet", "None open."));
    return;
  }
  var list = make("ul", "rows");
  grow(list, scene.questions, 12, function (question) {
    var item = make("li");
    var open = button("", "row", function () { choose(question[0], true); });
    open.append(said(question[1], "who"), " ", said(question[2]));
    item.append(open);
    return item;
  });
  node.append(list);
}

// A list that shows some and offers more: ten thousand rows at once would stop a tablet.
function grow(list, items, step, makeItem) {
  var shown = 0;
  var more = button("", "more", function () { show(step * 5); });
  function show(count) {
    items.slice(shown, shown + count).forEach(function (item) { list.append(makeItem(item)); });
    shown = Math.min(items.length, shown + count);
    more.textContent = "Show more (" + (items.length - shown) + " left)";
    if (shown < items.length) { list.after(more); } else { more.remove(); }
  }
  // The button needs a parent to stand beside: wait until the list is in the page.
  queueMicrotask(function () { show(step); });
}

var denseNote;

function sayDense(dense) { denseNote.hidden = !dense; }

function layerSection() {
  var node = section("layers", "Layers");
  Object.keys(layers).forEach(function (name) {
    var layer = layers[name], label = make("label", "switch"), input = make("input");
    if (layer.absent) { return; }
    input.type = "checkbox";
    input.checked = layer.on;
    input.addEventListener("change", function () {
      layer.on = input.checked;
      redrawAll();
    });
    label.append(input, make("span", "", layer.words));
    node.append(label);
  });
  denseNote = make("p", "flag", "So many older positions are in view that they are dots. Move closer to see them one by one.");
  denseNote.hidden = true;
  node.append(denseNote);
  scene.mapWords.forEach(function (words) { node.append(paragraph(words, "quiet")); });
  scene.credits.forEach(function (words) { node.append(paragraph(words, "quiet")); });
}

function cautionSection() {
  var node = section("cautions", "Cautions");
  scene.cautions.forEach(function (caution) { node.append(make("p", "", caution)); });
}

function strip() {
  var node = document.getElementById("strip");
  var title = make("h1");
  title.append(said(scene.title || "Incident without a name"));
  var last = make("p");
  last.append("Last report ", make("b", "", scene.last === null ? "none" : utc(scene.last)));
  if (scene.last !== null) { last.append(make("span", "quiet", " (" + localClock(scene.last) + ")")); }
  if (scene.asAt !== scene.last) { last.append(make("span", "quiet", "; ages as at " + utcClock(scene.asAt) + " UTC")); }
  var norths = make("p");
  norths.append("WGS 84. Declination ", make("b", "", scene.norths.declination), ", convergence ",
    make("b", "", scene.norths.convergence), make("span", "quiet", " at the middle, " + scene.norths.day));
  var night = button("Night", "", function () {
    var on = document.documentElement.classList.toggle("night");
    night.setAttribute("aria-pressed", String(on));
    readInks();
    redrawAll();
    drawKey();
  });
  night.setAttribute("aria-pressed", "false");
  node.append(title, last, norths, night);
  scene.norths.warnings.forEach(function (words) { node.append(make("p", "flag", words)); });
}
