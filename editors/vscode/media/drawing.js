// Shows the drawing that the extension sends. It is read as XML, so nothing in it can become part of the page's markup.
(function () {
  "use strict";
  const editor = acquireVsCodeApi();
  const fault = document.getElementById("fault");
  const sheet = document.getElementById("sheet");
  const style = new CSSStyleSheet();
  document.adoptedStyleSheets = [style];
  const ownStyle = /<style>([^<]*)<\/style>/;
  let shown = "";
  let pointed = [];
  let zoom = 1;

  function darken() {
    const dark = document.body.matches(".vscode-dark, .vscode-high-contrast:not(.vscode-high-contrast-light)");
    sheet.firstElementChild?.classList.toggle("trialfit-dark", dark);
  }

  function enlarge(to) {
    zoom = Math.min(12, Math.max(0.5, to));
    const drawing = sheet.firstElementChild;
    if (drawing) {
      drawing.style.width = `${100 * zoom}%`;
    }
  }

  function draw(svg) {
    fault.hidden = true;
    if (svg === shown) {
      return;
    }
    shown = svg;
    // A page's own style sheets are allowed where style elements are not.
    style.replaceSync(ownStyle.exec(svg)?.[1] ?? "");
    const read = new DOMParser().parseFromString(svg.replace(ownStyle, ""), "image/svg+xml").documentElement;
    // One step from the old drawing to the new, so that nothing flickers and the page stays where it was scrolled to.
    sheet.replaceChildren(document.importNode(read, true));
    darken();
    enlarge(zoom);
    mark();
  }

  function mark() {
    for (const element of sheet.querySelectorAll(".here")) {
      element.classList.remove("here");
    }
    for (const id of pointed) {
      document.getElementById(id)?.classList.add("here");
    }
  }

  function point(ids) {
    // What the cursor's line draws; where it draws nothing, what its block does.
    const own = ids.filter((id) => document.getElementById(id)?.matches(".leg, .met, .end, .lost, .level"));
    pointed = own.length > 0 ? own : ids;
    mark();
    const views = sheet.querySelectorAll(".view .here");
    const seen = [...views].some((element) => {
      const place = element.getBoundingClientRect();
      return place.bottom > 0 && place.right > 0 && place.top < innerHeight && place.left < innerWidth;
    });
    if (views.length > 0 && !seen) {
      views[0].scrollIntoView({ block: "nearest", inline: "nearest" });
    }
  }

  sheet.addEventListener("click", (event) => {
    const element = event.target.closest("[id]");
    if (element && element !== sheet) {
      editor.postMessage({ say: "go", id: element.id });
    }
  });
  sheet.addEventListener(
    "wheel",
    (event) => {
      if (event.ctrlKey || event.metaKey) {
        event.preventDefault();
        enlarge(zoom * (event.deltaY < 0 ? 1.15 : 1 / 1.15));
      }
    },
    { passive: false },
  );
  document.getElementById("fit").addEventListener("click", () => enlarge(1));
  document.getElementById("nearer").addEventListener("click", () => enlarge(zoom * 1.5));
  document.getElementById("farther").addEventListener("click", () => enlarge(zoom / 1.5));
  new MutationObserver(darken).observe(document.body, { attributes: true, attributeFilter: ["class"] });

  window.addEventListener("message", (event) => {
    const message = event.data;
    if (message.say === "drawing") {
      draw(message.svg);
    } else if (message.say === "point") {
      point(message.ids);
    } else if (message.say === "fault") {
      fault.textContent = `The job could not be drawn: ${message.reason}`;
      fault.hidden = false;
      // An old drawing beside a new text would deceive.
      sheet.replaceChildren();
      shown = "";
    }
  });
  let resting;
  window.addEventListener("resize", () => {
    clearTimeout(resting);
    resting = setTimeout(() => editor.postMessage({ say: "width", width: innerWidth }), 200);
  });
  editor.postMessage({ say: "width", width: innerWidth });
  editor.postMessage({ say: "ready" });
})();
