// Runs in VS Code's extension host: opens the job and asks through the editor's own interface what a user's keys would
// ask; writes what it saw to $PROBE_RESULT as JSON. Nothing is judged here, that is the test's business.

const vscode = require("vscode");
const fs = require("node:fs");
const path = require("node:path");

const PATIENCE_MILLISECONDS = 20_000;

async function until(what, ready) {
  const end = Date.now() + PATIENCE_MILLISECONDS;
  for (;;) {
    const answer = await ready();
    if (answer) {
      return answer;
    }
    if (Date.now() > end) {
      throw new Error(`did not come about: ${what}`);
    }
    await new Promise((resolve) => setTimeout(resolve, 30));
  }
}

/** A command's answer; a fault with its name where there is none in time. */
function ask(command, ...words) {
  let timer;
  const late = new Promise((_, reject) => {
    timer = setTimeout(() => reject(new Error(`no answer: ${command}`)), PATIENCE_MILLISECONDS);
  });
  return Promise.race([vscode.commands.executeCommand(command, ...words), late]).finally(() => clearTimeout(timer));
}

async function apply(edit) {
  if (!(await vscode.workspace.applyEdit(edit))) {
    throw new Error("an edit was refused");
  }
}

const plain = (range) => [range.start.line, range.start.character, range.end.line, range.end.character];

function place(document, text, into = 0) {
  return document.positionAt(document.getText().indexOf(text) + into);
}

async function replaceLine(document, line, text) {
  const edit = new vscode.WorkspaceEdit();
  edit.replace(document.uri, document.lineAt(line).range, text);
  await apply(edit);
}

async function probe(seen) {
  const folder = vscode.workspace.workspaceFolders[0].uri;
  const job = vscode.Uri.joinPath(folder, "kiosk.trialfit");
  const findings = (uri) => vscode.languages.getDiagnostics(uri);

  const document = await vscode.workspace.openTextDocument(job);
  await vscode.window.showTextDocument(document);
  seen.language = document.languageId;
  await until("findings", () => findings(job).length > 0);
  const [found] = findings(job);
  seen.findings = findings(job).map((it) => ({
    code: typeof it.code === "object" ? it.code.value : it.code,
    message: it.message,
    range: plain(it.range),
    severity: it.severity,
    source: it.source,
    related: (it.relatedInformation ?? []).map((other) => path.basename(other.location.uri.fsPath)),
  }));
  const line = found.range.start.line;

  const hovers = await ask("vscode.executeHoverProvider", job, found.range.start);
  seen.hover = hovers.flatMap((hover) => hover.contents.map((content) => content.value ?? content)).join("\n");

  const symbols = await ask("vscode.executeDocumentSymbolProvider", job);
  seen.symbols = symbols.map((symbol) => symbol.name);
  const folds = await ask("vscode.executeFoldingRangeProvider", job);
  seen.folds = folds.length;
  const definitions = await ask("vscode.executeDefinitionProvider", job, place(document, "air-2", 2));
  seen.definition = definitions.map((it) => path.basename((it.uri ?? it.targetUri).fsPath));

  const legend = await ask("vscode.provideDocumentSemanticTokensLegend", job);
  const tokens = await ask("vscode.provideDocumentSemanticTokens", job);
  seen.tokens = { types: legend.tokenTypes, count: tokens.data.length / 5 };

  const whole = new vscode.Range(0, 0, document.lineCount, 0);
  const hints = async () => (await ask("vscode.executeInlayHintProvider", job, whole)).length;
  seen.hints = await until("hints", hints);
  const settings = vscode.workspace.getConfiguration("trialfit");
  await settings.update("inlayHints", false, vscode.ConfigurationTarget.Global);
  await until("no hints where they are off", async () => (await hints()) === 0);
  await settings.update("inlayHints", true, vscode.ConfigurationTarget.Global);
  await until("hints again", hints);

  const lenses = await ask("vscode.executeCodeLensProvider", job, 50);
  seen.lenses = lenses.map((lens) => ({ title: lens.command?.title, command: lens.command?.command }));
  // Above a run, the way to its figures.
  const offered = lenses.find((lens) => lens.command?.command === "trialfit.showFigures");
  await ask(offered.command.command, ...offered.command.arguments);
  seen.leapt = vscode.window.activeTextEditor?.selection.active.line === offered.range.start.line;

  const heater = place(document, "heater reader", "heater re".length);
  seen.highlights = (await ask("vscode.executeDocumentHighlights", job, heater)).length;
  seen.references = (await ask("vscode.executeReferenceProvider", job, heater)).length;
  const [innermost] = await ask("vscode.executeSelectionRangeProvider", job, [heater]);
  seen.selections = [];
  for (let range = innermost; range; range = range.parent) {
    seen.selections.push(document.getText(range.range).length);
  }
  seen.workspaceSymbols = (await ask("vscode.executeWorkspaceSymbolProvider", "reader")).map((symbol) => symbol.name);
  seen.links = (await ask("vscode.executeLinkProvider", job, 20)).map((link) => path.basename(link.target?.path ?? ""));

  // What hangs on a data sheet.
  const sheets = vscode.Uri.joinPath(folder, "workshop", "sheets.trialfit");
  const text = await vscode.workspace.openTextDocument(sheets);
  const [sheet] = await ask("vscode.prepareCallHierarchy", sheets, place(text, "heater air-2", "heater air".length));
  const hanging = await ask("vscode.provideIncomingCalls", sheet);
  seen.hanging = hanging.map((call) => path.basename(call.from.uri.fsPath));

  // The first fix, as a reader who takes what is offered.
  const kind = vscode.CodeActionKind.QuickFix.value;
  const fixes = await ask("vscode.executeCodeActionProvider", job, found.range, kind, 20);
  seen.fixes = fixes.map((fix) => fix.title);
  await apply(fixes[0].edit);
  await until("the fix", () => findings(job).length === 0);
  seen.mended = document.lineAt(line).text;

  // A line out of order, put in order in each of the three ways.
  const shape = { tabSize: 2, insertSpaces: true };
  const ordered = async (edits) => {
    const edit = new vscode.WorkspaceEdit();
    edit.set(job, await edits);
    await apply(edit);
    return document.lineAt(line).text;
  };
  await replaceLine(document, line, "\tsize   4mm²");
  seen.formatted = await ordered(ask("vscode.executeFormatDocumentProvider", job, shape));
  await replaceLine(document, line, "\tsize   4mm²");
  const typedLine = document.lineAt(line).range;
  seen.rangeFormatted = await ordered(ask("vscode.executeFormatRangeProvider", job, typedLine, shape));
  await replaceLine(document, line, "\tsize   4mm²\n");
  const behind = new vscode.Position(line + 1, 0);
  seen.typed = await ordered(ask("vscode.executeFormatOnTypeProvider", job, behind, "\n", shape));
  const added = new vscode.WorkspaceEdit();
  added.delete(job, new vscode.Range(line + 1, 0, line + 2, 0));
  await apply(added);

  await replaceLine(document, line, "  insul");
  const items = await ask("vscode.executeCompletionItemProvider", job, new vscode.Position(line, 7));
  seen.completions = items.items.map((item) => (typeof item.label === "string" ? item.label : item.label.label));
  await replaceLine(document, line, "  size          4 mm²");

  const battery = place(document, "battery house", "battery ho".length);
  seen.prepared = (await ask("vscode.prepareRename", job, battery))?.placeholder;
  await apply(await ask("vscode.executeDocumentRenameProvider", job, battery, "leisure"));
  seen.renamed = document.getText();

  // An unsaved document is served too.
  await ask("trialfit.openPracticeJob");
  const practice = vscode.window.activeTextEditor.document;
  seen.practice = { scheme: practice.uri.scheme, language: practice.languageId };
  await until("the practice job's finding", () => findings(practice.uri).length > 0);
  await ask("workbench.action.revertAndCloseActiveEditor");

  seen.tasks = (await vscode.tasks.fetchTasks({ type: "trialfit" })).map((task) => task.name).sort();
  seen.commands = (await vscode.commands.getCommands(true)).filter((name) => name.startsWith("trialfit.")).sort();

  await vscode.window.showTextDocument(document);
  await ask("workbench.action.files.revert");
  // The sheets' file under another name.
  const edit = new vscode.WorkspaceEdit();
  const workshop = (name) => vscode.Uri.joinPath(folder, "workshop", name);
  edit.renameFile(workshop("sheets.trialfit"), workshop("parts.trialfit"));
  await apply(edit);
  seen.follows = document.getText().match(/^follows .*$/m)[0];
  await vscode.workspace.saveAll();
  await until("the same finding", () => findings(job).length === 1);
  await ask("workbench.action.closeAllEditors");
}

exports.activate = async function activate() {
  const result = process.env.PROBE_RESULT;
  // Each page that is opened starts an extension host; the first one asks.
  if (!result || fs.existsSync(result)) {
    return;
  }
  const seen = {};
  try {
    await probe(seen);
  } catch (fault) {
    seen.missing = String(fault.stack ?? fault);
  }
  fs.writeFileSync(`${result}.part`, JSON.stringify(seen));
  fs.renameSync(`${result}.part`, result);
};
