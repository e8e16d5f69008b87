// Drives the real window: opens the page, lets the probe ask, then looks at what a user sees: squiggle, list of problems,
// drawing and figures beside the text, the fix under the lamp. Writes what it saw to $WINDOW_RESULT and a picture to $WINDOW_PICTURE.

import { existsSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";

const { chromium } = createRequire(join(process.env.TRIALFIT_CODE, "package.json"))("playwright-core");
const PATIENCE_MILLISECONDS = 30_000;
const seen = { complaints: [] };

const browser = await chromium.launch({
  executablePath: process.env.TRIALFIT_CHROMIUM,
  args: [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    // Nothing but the machine itself is to be reached.
    "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1",
  ],
});
try {
  const page = await browser.newPage({ viewport: { width: 1400, height: 900 } });
  page.setDefaultTimeout(PATIENCE_MILLISECONDS);
  page.on("console", (message) => {
    // The editor's own look for extensions is led nowhere, on purpose.
    if (/Content.Security.Policy/i.test(message.text()) && !message.text().includes("extensionquery")) {
      seen.complaints.push(message.text());
    }
  });
  await page.goto(process.env.WINDOW_ADDRESS);
  await page.waitForSelector(".monaco-workbench");
  const end = Date.now() + 2 * PATIENCE_MILLISECONDS;
  // VS Code asks before a renamed file changes the files that follow it.
  const agree = page.locator(".monaco-dialog-box .monaco-button", { hasText: "OK" });
  while (!existsSync(process.env.PROBE_RESULT)) {
    if (await agree.isVisible()) {
      await agree.click();
    }
    if (Date.now() > end) {
      throw new Error("the probe wrote nothing");
    }
    await page.waitForTimeout(100);
  }

  await page.keyboard.press("Control+p");
  await page.locator(".quick-input-widget input").first().fill("kiosk");
  await page.locator(".quick-input-list .monaco-list-row", { hasText: "kiosk" }).first().click();
  const tab = page.locator('.tab[data-resource-name="kiosk.trialfit"]');
  await tab.waitFor();

  // The list of problems leads to the line.
  await page.keyboard.press("Control+Shift+m");
  const problem = page.locator(".markers-panel .monaco-list-row", { hasText: "10." }).first();
  await problem.waitFor();
  seen.problem = await problem.innerText();
  await problem.dblclick();
  await page.locator(".squiggly-error").first().waitFor();
  seen.squiggles = await page.locator(".squiggly-error").count();

  await page.getByRole("button", { name: /Show drawing beside the text/ }).first().click();
  const inner = page.frameLocator("iframe.webview.ready").frameLocator("iframe#active-frame");
  await inner.locator("#sheet svg .view").nth(1).waitFor();
  seen.drawn = await inner.locator("#sheet .view .run").count();
  seen.marked = await inner.locator("#sheet .view .finding").count();
  // The cursor stands on the cable's size, so the cable is set off.
  await inner.locator("#sheet .run.here").first().waitFor({ state: "attached" });
  seen.setOff = await inner.locator("#sheet .run.here > title").allTextContents();
  seen.paper = await inner.locator("#sheet svg > rect").first().evaluate((it) => getComputedStyle(it).fill);
  seen.background = await inner.locator("#caution").evaluate((it) => getComputedStyle(it).backgroundColor);
  await page.waitForTimeout(300);
  await page.screenshot({ path: process.env.WINDOW_PICTURE });
  // A click on a leg leads to its line.
  await inner.locator("#sheet .run.exhaust .leg").last().dispatchEvent("click");
  const number = page.locator(".line-numbers.active-line-number").first();
  const cursor = async () => Number(await number.innerText());
  const before = await cursor();
  for (const until = Date.now() + PATIENCE_MILLISECONDS; Date.now() < until && (await cursor()) === before; ) {
    await page.waitForTimeout(50);
  }
  seen.line = await cursor();
  await problem.dblclick();

  await page.getByRole("button", { name: /Show figures beside the text/ }).first().click();
  await inner.locator(".figure").first().waitFor();
  seen.caution = await inner.locator("#caution").innerText();
  seen.figures = await inner.locator(".figure").count();
  // The cursor stands on the cable's size, so the figures that rest on it are marked.
  await inner.locator(".figure.pointed").first().waitFor();
  seen.pointed = await inner.locator(".figure.pointed .title").allInnerTexts();
  await inner.locator(".figure.pointed summary").first().click();
  seen.working = await inner.locator(".figure.pointed[open] .source").first().innerText();
  const voltage = inner.locator(".figure", { hasText: "voltage left" }).first().locator(".shown");
  seen.before = await voltage.innerText();

  // The lamp's first offer.
  await tab.click();
  await page.keyboard.press("Control+.");
  const offers = page.locator(".action-widget .monaco-list-row.action");
  await offers.first().waitFor();
  seen.offers = await offers.allInnerTexts();
  await page.waitForTimeout(300);
  await page.keyboard.press("Enter");
  await page.locator(".squiggly-error").first().waitFor({ state: "detached" });
  // The figures follow the text.
  for (const until = Date.now() + PATIENCE_MILLISECONDS; Date.now() < until; ) {
    seen.after = await voltage.innerText();
    if (seen.after !== seen.before) {
      break;
    }
    await page.waitForTimeout(50);
  }
  // So does the drawing.
  await page.locator(".tab", { hasText: "Drawing: kiosk.trialfit" }).click();
  await inner.locator("#sheet svg .view").nth(1).waitFor();
  seen.markedAfter = await inner.locator("#sheet .view .finding").count();

  // Without the command: what somebody is told who has not put it on the machine yet.
  writeFileSync(process.env.MACHINE_SETTINGS, JSON.stringify({ "trialfit.path": "/nowhere/trialfit" }));
  const told = page.locator(".notification-toast", { hasText: "/nowhere/trialfit" });
  await told.first().waitFor();
  await page.waitForTimeout(500);
  seen.told = await told.allInnerTexts();
} catch (fault) {
  seen.missing = String(fault.stack ?? fault);
  const [page] = browser.contexts()[0]?.pages() ?? [];
  await page?.screenshot({ path: process.env.WINDOW_PICTURE });
} finally {
  writeFileSync(process.env.WINDOW_RESULT, JSON.stringify(seen));
  await browser.close();
}
