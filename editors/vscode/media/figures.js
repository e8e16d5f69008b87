// Draws the figures that the extension sends. Everything that comes from a job is put in as text, never as markup.
(function () {
  "use strict";
  const editor = acquireVsCodeApi();
  const caution = document.getElementById("caution");
  const fault = document.getElementById("fault");
  const list = document.getElementById("figures");
  let cards = [];
  // Which workings the reader has opened; kept while the text changes.
  const opened = new Set();

  function element(name, kind, text) {
    const made = document.createElement(name);
    if (kind) {
      made.className = kind;
    }
    if (text) {
      made.textContent = text;
    }
    return made;
  }

  function card(figure, index) {
    const made = element("details", "figure");
    const key = `${figure.title}\n${figure.case}`;
    made.open = opened.has(key);
    made.addEventListener("toggle", () => (made.open ? opened.add(key) : opened.delete(key)));
    const head = element("summary");
    head.append(element("span", "title", figure.title));
    if (figure.case) {
      head.append(element("span", "case", figure.case));
    }
    head.append(element("span", "shown", figure.shown));
    made.append(head);
    const steps = element("ol");
    for (const step of figure.working) {
      const line = element("li");
      line.append(element("div", "what", step.what));
      line.append(element("code", "formula", step.formula));
      const inputs = step.inputs.map((input) => `${input.symbol} ${input.shown}`).join(", ");
      if (inputs) {
        line.append(element("div", "inputs", inputs));
      }
      line.append(element("div", "result", `= ${step.shown}`));
      line.append(element("div", "source", step.source));
      steps.append(line);
    }
    made.append(steps);
    const go = element("button", "go", "go to its line");
    go.addEventListener("click", () => editor.postMessage({ say: "go", index }));
    made.append(go);
    return made;
  }

  function draw(job) {
    caution.textContent = job.caution;
    fault.hidden = true;
    list.replaceChildren();
    cards = [];
    let section;
    let under;
    job.figures.forEach((figure, index) => {
      if (figure.section !== section) {
        section = figure.section;
        under = element("section");
        under.append(element("h2", "", section));
        list.append(under);
      }
      const made = card(figure, index);
      cards.push(made);
      under.append(made);
    });
    if (job.not_computed.length > 0) {
      const missing = element("section", "missing");
      missing.append(element("h2", "", "not computed"));
      for (const item of job.not_computed) {
        missing.append(element("p", "", `${item.title}: not computed, because ${item.because}`));
      }
      list.append(missing);
    }
    if (job.figures.length === 0 && job.not_computed.length === 0) {
      list.append(element("p", "", "no figure yet: a job with a heater has some"));
    }
  }

  function point(indices) {
    const pointed = new Set(indices);
    cards.forEach((made, index) => made.classList.toggle("pointed", pointed.has(index)));
    const first = cards[indices[0]];
    if (first) {
      first.scrollIntoView({ block: "nearest" });
    }
  }

  window.addEventListener("message", (event) => {
    const message = event.data;
    if (message.say === "figures") {
      draw(message.document);
    } else if (message.say === "point") {
      point(message.indices);
    } else if (message.say === "fault") {
      fault.textContent = `The figures could not be computed: ${message.reason}`;
      fault.hidden = false;
      // Old figures beside a new text would deceive.
      list.replaceChildren();
      cards = [];
    }
  });
  editor.postMessage({ say: "ready" });
})();
