// The key: what each shape and line on the map means, drawn by the same functions as the map.

var KEY = [
  ["Station: somebody with a radio", function (pen) { drawStation(pen, 28, 18); }],
  ["Subject: looked for, hurt or waiting", function (pen) { drawSubject(pen, 28, 18); }],
  ["Named place", function (pen) { drawPlace(pen, 28, 18); }],
  ["Older position, with its age", function (pen) {
    pen.ctx.beginPath();
    house(pen.ctx, 28, 18, 8);
    pen.stroke(inks.place, 1);
    pen.ctx.fillStyle = inks.report;
    pen.ctx.fillRect(26.5, 16.5, 3, 3);
  }],
  ["Reported square; dashed where in doubt", function (pen) {
    pen.ctx.beginPath();
    pen.ctx.rect(17, 7, 22, 22);
    pen.fill(inks.report, 0.1);
    pen.stroke(inks.report, 2);
  }],
  ["Another square that the words allow", function (pen) { ringWithDot(pen, 28, 18, inks.report, [3, 3]); }],
  ["Line of bearing; shading one standard error", function (pen) { keyBearing(pen, []); }],
  ["Doubtful bearing", function (pen) { keyBearing(pen, [9, 6]); }],
  ["Best point", function (pen) { drawBest(pen, 28, 18); }],
  ["Holds it with 50 %", function (pen) {
    disc(pen.ctx, 28, 18, 14);
    pen.fill(inks.region, 0.35);
    pen.stroke(inks.computed, 0.75);
  }],
  ["Holds it with 95 %", function (pen) {
    disc(pen.ctx, 28, 18, 14);
    pen.fill(pen.ctx.createPattern(hatching(), "repeat"));
    pen.stroke(inks.computed, 1.75);
  }]
];
if (proposals.length) {
  KEY.push(["Place to listen from next, best first", function (pen) { drawProposal(pen, 28, 18, "1"); }]);
}
keepEvidenceKey();
keepTimesKey();
keepSearchKey();
var keyCanvases = [];

function keyBearing(pen, dash) {
  pen.ctx.beginPath();
  pen.ctx.moveTo(2, 18);
  pen.ctx.lineTo(54, 8);
  pen.ctx.lineTo(54, 28);
  pen.ctx.closePath();
  pen.fill(inks.bearing, 0.1);
  pen.ctx.beginPath();
  pen.ctx.moveTo(2, 18);
  pen.ctx.lineTo(54, 18);
  pen.stroke(inks.bearing, 2, dash);
  arrow(pen, 20, 18, 0, inks.bearing);
}

function keySection() {
  var node = section("key", "What the shapes mean"), list = make("ul", "key");
  KEY.forEach(function (row) {
    var item = make("li"), canvas = make("canvas");
    canvas.setAttribute("aria-hidden", "true");
    keyCanvases.push(canvas);
    item.append(canvas, make("span", "", row[0]));
    list.append(item);
  });
  node.append(list);
  // Drawn when it is first looked at, so that the map does not wait for it.
  new IntersectionObserver(drawKey).observe(node);
}

function drawKey() {
  keyCanvases.forEach(function (canvas, index) {
    canvas.width = 112;
    canvas.height = 72;
    var ctx = canvas.getContext("2d");
    ctx.scale(2, 2);
    ctx.lineJoin = ctx.lineCap = "round";
    KEY[index][1](new Pen(ctx, 1, { x: 0, y: 0 }, { x: 56, y: 36 }, { x: 0, y: 0 }, { x: 56, y: 36 }));
  });
}
