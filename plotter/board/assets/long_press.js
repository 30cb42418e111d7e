// A finger that rests holds the place under it; what follows when it is lifted is no click.
var LONG_PRESS_MS = 600;
var press = null, pressed = false;

function startPress(event) {
  var second = press !== null;
  pointerKind = event.pointerType;
  pressed = false;
  endPress();
  if (pointerKind === "mouse" || second || event.target.closest(".leaflet-control")) { return; }
  var place = map.mouseEventToLatLng(event);
  press = { x: event.clientX, y: event.clientY, timer: setTimeout(function () {
    press = null;
    pressed = true;
    hold([place.lat, place.lng]);
  }, LONG_PRESS_MS) };
}

function endPress() {
  if (press) { clearTimeout(press.timer); }
  press = null;
}
