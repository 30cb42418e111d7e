// One canvas over the map that is drawn again when the map has moved.

var inks = {};

function readInks() {
  var style = getComputedStyle(document.documentElement);
  ["water", "land", "coast", "grid", "grid-text", "report", "bearing", "bearing-text", "computed",
    "region", "place", "halo", "paper", "chosen"].forEach(function (name) {
    inks[name] = style.getPropertyValue("--" + name).trim();
  });
}

var Sheet = L.Renderer.extend({
  initialize: function (pane, draw) {
    L.Renderer.prototype.initialize.call(this, { pane: pane, padding: 0.15 });
    this._draw = draw;
  },
  _initContainer: function () {
    this._container = document.createElement("canvas");
    this._container.setAttribute("aria-hidden", "true");
  },
  _destroyContainer: function () {
    L.DomUtil.remove(this._container);
    this._container = null;
  },
  _updatePaths: function () {},
  _onZoomEnd: function () {},
  _update: function () {
    if (this._map._animatingZoom && this._bounds) { return; }
    L.Renderer.prototype._update.call(this);
    this.redraw();
  },
  redraw: function () {
    if (!this._bounds || !this._container) { return; }
    var size = this._bounds.getSize(), ratio = Math.min(window.devicePixelRatio || 1, 2);
    var canvas = this._container;
    L.DomUtil.setPosition(canvas, this._bounds.min);
    if (canvas.width !== size.x * ratio || canvas.height !== size.y * ratio) {
      canvas.width = size.x * ratio;
      canvas.height = size.y * ratio;
      canvas.style.width = size.x + "px";
      canvas.style.height = size.y + "px";
    }
    var ctx = canvas.getContext("2d");
    ctx.setTransform(ratio, 0, 0, ratio, 0, 0);
    ctx.clearRect(0, 0, size.x, size.y);
    ctx.lineJoin = ctx.lineCap = "round";
    var origin = this._map.getPixelOrigin().add(this._bounds.min);
    var shown = this._map.containerPointToLayerPoint([0, 0]).subtract(this._bounds.min);
    var view = this._map.getSize();
    this._draw(new Pen(ctx, Math.pow(2, this._map.getZoom()), origin, size, shown, view));
  }
});

// Draws points of the plane; `shown` is the part of the canvas that is in view.
function Pen(ctx, scale, origin, size, shown, view) {
  this.ctx = ctx;
  this.scale = scale;
  this.ox = origin.x;
  this.oy = origin.y;
  this.size = size;
  this.left = shown.x;
  this.top = shown.y;
  this.right = shown.x + view.x;
  this.bottom = shown.y + view.y;
}

Pen.prototype.x = function (x) { return x * this.scale - this.ox; };
Pen.prototype.y = function (y) { return y * this.scale - this.oy; };

Pen.prototype.holds = function (x, y, margin) {
  return x > -margin && y > -margin && x < this.size.x + margin && y < this.size.y + margin;
};

Pen.prototype.trace = function (points, close) {
  var ctx = this.ctx;
  for (var i = 0; i < points.length; i += 2) {
    var x = points[i] * this.scale - this.ox, y = points[i + 1] * this.scale - this.oy;
    if (i) { ctx.lineTo(x, y); } else { ctx.moveTo(x, y); }
  }
  if (close) { ctx.closePath(); }
};

// Only those sides of a line that may be in view: the dashes of what lies outside cost as much as those inside.
Pen.prototype.traceSeen = function (points) {
  var joined = false;
  for (var i = 0; i + 3 < points.length; i += 2) {
    if (!this.sees(box(points.slice(i, i + 4)))) { joined = false; continue; }
    if (!joined) { this.ctx.moveTo(this.x(points[i]), this.y(points[i + 1])); }
    this.ctx.lineTo(this.x(points[i + 2]), this.y(points[i + 3]));
    joined = true;
  }
};

Pen.prototype.stroke = function (ink, width, dash) {
  this.ctx.strokeStyle = ink;
  this.ctx.lineWidth = width;
  this.ctx.setLineDash(dash || []);
  this.ctx.stroke();
  this.ctx.setLineDash([]);
};

Pen.prototype.fill = function (ink, opacity) {
  this.ctx.globalAlpha = opacity === undefined ? 1 : opacity;
  this.ctx.fillStyle = ink;
  this.ctx.fill("evenodd");
  this.ctx.globalAlpha = 1;
};

function box(points) {
  var found = [Infinity, Infinity, -Infinity, -Infinity];
  for (var i = 0; i < points.length; i += 2) {
    found[0] = Math.min(found[0], points[i]);
    found[1] = Math.min(found[1], points[i + 1]);
    found[2] = Math.max(found[2], points[i]);
    found[3] = Math.max(found[3], points[i + 1]);
  }
  return found;
}

Pen.prototype.sees = function (bounds) {
  return this.x(bounds[2]) > 0 && this.y(bounds[3]) > 0 &&
    this.x(bounds[0]) < this.size.x && this.y(bounds[1]) < this.size.y;
};
