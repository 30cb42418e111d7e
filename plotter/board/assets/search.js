// The sectors of a search: outlines with their names, fuller in colour where to search first.

var sectors = (scene.search ? scene.search.sectors : []).map(function (sector) {
  var middle = plane(sector.middle[0] / 1e6, sector.middle[1] / 1e6);
  return {
    name: sector.name,
    chance: sector.chance,
    weight: sector.weight,
    x: middle[0],
    y: middle[1],
    place: sector.middle,
    rings: paths(sector.rings)
  };
});

// Places of a path written as steps.
function corners(steps) {
  var found = [], lat = 0, lon = 0;
  for (var i = 0; i < steps.length; i += 2) {
    lat += steps[i];
    lon += steps[i + 1];
    found.push(at([lat, lon]));
  }
  return found;
}

// The sectors stand in for the regions that they are cut from.
function cutUp(answer) {
  return layers.sectors.on && scene.search && scene.search.subject === answer.subject && isLatest(answer);
}

function sectorShade(weight) {
  return 0.06 + 0.44 * weight;
}

function drawSectors(pen) {
  sectors.forEach(function (sector) {
    pen.ctx.beginPath();
    sector.rings.forEach(function (ring) { pen.trace(ring, true); });
    pen.fill(inks.region, sectorShade(sector.weight));
  });
  sectors.forEach(function (sector) {
    pen.ctx.beginPath();
    sector.rings.forEach(function (ring) { pen.trace(ring, true); });
    pen.stroke(inks.halo, 4);
    pen.stroke(inks.computed, 2);
  });
}

function nameSectors(pen, labels) {
  sectors.forEach(function (sector, index) {
    labels.push({
      text: sector.name, more: sector.chance, x: pen.x(sector.x), y: pen.y(sector.y),
      order: 1 + index / 1000, ink: inks.computed, size: 16, bold: true,
      places: [[0, 0, "center"]].concat(around(8))
    });
  });
}

function searchSection() {
  if (!scene.search) { return; }
  var node = section("search", "Where to search"), list = make("ol", "proposals");
  node.append(make("p", "", "To find"));
  node.lastChild.append(" ", said(scene.search.subject, "who"));
  node.append(paragraph(scene.search.words[0], "headline"));
  scene.search.sectors.forEach(function (sector) { list.append(sectorRow(sector)); });
  node.append(list);
  scene.search.words.slice(1).forEach(function (words) { node.append(paragraph(words, "finding")); });
  scene.search.cautions.forEach(function (words) { node.append(paragraph(words, "caution")); });
}

function sectorRow(sector) {
  var item = make("li"), head = make("p", "proposal"), grid = make("dl", "formats");
  head.append(make("span", "rank", sector.name), make("b", "", sector.chance), make("span", "", sector.area));
  grid.append.apply(grid, formatRow(sector.format));
  item.append(head);
  if (sector.effort) { item.append(paragraph(sector.effort, "")); }
  if (sector.way) {
    var way = make("p", "", sector.way[0] + " from ");
    way.append(said(sector.way[1]));
    item.append(way);
  }
  item.append(grid, button("Show on the map", "", function () {
    map.fitBounds(L.latLngBounds(sector.rings.map(corners).flat()), { padding: [64, 64], maxZoom: 16 });
  }));
  return item;
}

function keepSearchKey() {
  if (!sectors.length) { return; }
  KEY.push(["Sector to search; the fullest colour first", function (pen) {
    pen.ctx.beginPath();
    pen.ctx.rect(8, 5, 20, 26);
    pen.fill(inks.region, sectorShade(1));
    pen.stroke(inks.computed, 2);
    pen.ctx.beginPath();
    pen.ctx.rect(28, 5, 20, 26);
    pen.fill(inks.region, sectorShade(0.2));
    pen.stroke(inks.computed, 2);
  }]);
}
