// The time that is looked at: a slider over all reports, from the first to the last.

var timeParts = {};

function showUntil(wanted) {
  cut = Math.min(Math.max(wanted, 0), Math.max(entries.length - 1, 0));
  findLatest();
  sayTime();
  fillReports();
  redrawAll();
}

function sayTime() {
  var entry = entries[cut], slider = timeParts.slider;
  if (!entry) { return; }
  var words = utc(cut ? asAt() : scene.last) + (cut ? "" : ", the last");
  slider.value = String(entries.length - 1 - cut);
  slider.setAttribute("aria-valuetext", words);
  timeParts.words.textContent = words;
  timeParts.report.replaceChildren(said(entry.sender, "who"), " ", make("bdi", "said", shortened(entry.text, 120)));
  timeParts.earlier.disabled = cut === entries.length - 1;
  timeParts.later.disabled = timeParts.all.disabled = cut === 0;
  timeParts.note.hidden = cut === 0 || !answers.length;
  timeParts.flag.hidden = cut === 0;
  timeParts.flagWords.textContent = "As at " + words + ": " + cut + (cut === 1 ? " later report is" : " later reports are") + " not shown.";
}

function timeTool() {
  var body = toolBody("time", "Time", { open: sayTime }), label = make("label", "field", "What was said up to ");
  var slider = make("input"), steps = make("div", "choices");
  timeParts.words = make("b", "at");
  slider.type = "range";
  slider.min = "0";
  slider.max = String(Math.max(entries.length - 1, 0));
  slider.step = "1";
  slider.addEventListener("input", function () { showUntil(entries.length - 1 - Number(slider.value)); });
  timeParts.slider = slider;
  timeParts.earlier = button("One earlier", "", function () { showUntil(cut + 1); });
  timeParts.later = button("One later", "", function () { showUntil(cut - 1); });
  timeParts.all = button("All reports", "", function () { showUntil(0); });
  timeParts.report = make("p", "clipped");
  timeParts.note = make("p", "quiet", "The answer counts all reports: it is not shown for an earlier time.");
  label.append(timeParts.words, slider);
  steps.append(timeParts.earlier, timeParts.later, timeParts.all);
  body.append(label, timeParts.report, steps, timeParts.note);
}

// While the map is not as at the last report, the strip says so, whatever else is open.
function timeFlag() {
  timeParts.flag = make("p", "flag past");
  timeParts.flagWords = make("span");
  timeParts.flag.append(timeParts.flagWords, button("Show all", "small", function () { showUntil(0); }));
  timeParts.flag.hidden = true;
  document.getElementById("strip").append(timeParts.flag);
}
