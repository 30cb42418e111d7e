// Where to listen next: hollow houses with their rank, and the list beside them.

var proposals = (scene.listening ? scene.listening.places : []).map(function (each) {
  var point = plane(each.place[0] / 1e6, each.place[1] / 1e6);
  return { rank: String(each.rank), name: each.name, place: each.place, x: point[0], y: point[1] };
});

function drawProposal(pen, x, y, rank) {
  var ctx = pen.ctx;
  ctx.beginPath();
  house(ctx, x, y, 17);
  pen.fill(inks.paper);
  pen.stroke(inks.halo, 6);
  pen.stroke(inks.computed, 2.5);
  ctx.font = pen.font = "700 16px " + FONT;
  ctx.direction = "ltr";
  ctx.textAlign = "center";
  ctx.textBaseline = "middle";
  ctx.fillStyle = inks.computed;
  ctx.fillText(rank, x, y + 4);
}

// The best is drawn last, so that none of the others hides it.
function drawListening(pen, labels) {
  proposals.slice().reverse().forEach(function (each) {
    var x = pen.x(each.x), y = pen.y(each.y);
    if (!pen.holds(x, y, 24)) { return; }
    drawProposal(pen, x, y, each.rank);
    // The rank stands in the marker: a point without a name needs no more, but for the best one.
    if (!each.name && each.rank !== "1") { return; }
    labels.push({
      text: each.name ? "Listen: " + isolate(shortened(each.name, 24)) : "Listen here first",
      x: x, y: y, order: 2 + each.rank / 100, size: 15, bold: true, ink: inks.computed, places: around(20)
    });
  });
}

function listeningSection() {
  if (!scene.listening) { return; }
  var node = section("listening", "Where to listen next"), list = make("ol", "proposals");
  node.append(make("p", "", "To find"));
  node.lastChild.append(" ", said(scene.listening.subject, "who"));
  scene.listening.findings.forEach(function (words) { node.append(paragraph(words, "finding")); });
  scene.listening.places.forEach(function (each) { list.append(proposalRow(each)); });
  node.append(list);
  scene.listening.cautions.forEach(function (words) { node.append(paragraph(words, "caution")); });
}

function proposalRow(each) {
  var item = make("li"), head = make("p", "proposal"), grid = make("dl", "formats");
  head.append(make("span", "rank", String(each.rank)), said(each.name || "Place without a name", "who"));
  grid.append.apply(grid, formatRow(each.format));
  item.append(head, paragraph(each.outcome, ""));
  if (each.sight) {
    var way = make("p", "");
    way.append(each.sight[1] + " on " + each.sight[2] + " (" + each.sight[3] + ") from ", said(each.sight[0]));
    item.append(way);
  }
  item.append(grid, button("Show on the map", "", function () {
    map.setView(at(each.place), Math.max(map.getZoom(), 12));
  }));
  return item;
}
