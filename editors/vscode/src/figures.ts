// The job's figures beside its text. They are computed by the `trialfit` command from the text as it stands in the editor,
// saved or not; this file only carries them over.

import { execFile } from "node:child_process";
import { dirname, relative } from "node:path";
import * as vscode from "vscode";
import { Beside, type Answer } from "./beside";
import { readFigures, type FiguresDocument, type Where } from "./document";

/** No job is that long to compute; a command that hangs is ended. */
const PATIENCE_MILLISECONDS = 20_000;

export class Figures extends Beside<FiguresDocument> {
  constructor(extension: vscode.Uri) {
    super(extension, {
      name: "figures",
      title: "Figures",
      caution:
        "Figures are not an approval. The heater maker's instructions, local codes and licensed practice come first. Carbon monoxide kills.",
      inside: '<main id="figures" aria-live="polite"></main>',
    });
  }

  protected override restsOn(document: vscode.TextDocument): boolean {
    // A workshop file's edit changes nothing until it is saved: the command reads followed files from the disk.
    return document === this.job;
  }

  protected override make(document: vscode.TextDocument, signal: AbortSignal): Promise<Answer<FiguresDocument>> {
    return figuresOf(document, signal);
  }

  protected override message(shown: FiguresDocument): object {
    return { say: "figures", document: shown };
  }

  /** Points at the figures that rest on the cursor's line; where none does, at those of its block. */
  protected override point(editor: vscode.TextEditor, shown: FiguresDocument): void {
    const line = editor.selection.active.line + 1;
    const here = (where: Where) => where.path === shown.path && where.start.line <= line && line <= where.end.line;
    const numbered = shown.figures.map((figure, index) => ({ figure, index }));
    let pointed = numbered.filter(({ figure }) => figure.rests_on.some(here));
    if (pointed.length === 0) {
      const header = headerAbove(editor.document, line - 1) + 1;
      pointed = numbered.filter(
        ({ figure }) => figure.subject.path === shown.path && figure.subject.start.line === header,
      );
    }
    this.tell({ say: "point", indices: pointed.map(({ index }) => index) });
  }

  protected override lead(message: Record<string, unknown>, shown: FiguresDocument): vscode.Location | undefined {
    const subject = typeof message.index === "number" ? shown.figures[message.index]?.subject : undefined;
    if (!this.job || !subject || subject.path !== shown.path) {
      return undefined;
    }
    return new vscode.Location(this.job.uri, new vscode.Position(subject.start.line - 1, 0));
  }
}

/** The line of the header that the line belongs to. */
function headerAbove(document: vscode.TextDocument, line: number): number {
  while (line > 0 && !/^[^\s#]/.test(document.lineAt(line).text)) {
    line -= 1;
  }
  return line;
}

function figuresOf(document: vscode.TextDocument, signal: AbortSignal): Promise<FiguresDocument | string> {
  const settings = vscode.workspace.getConfiguration("trialfit", document);
  const command = settings.get("path", "trialfit");
  const words = ["figures", "-", "--form", "json"];
  let folder: string | undefined;
  if (document.uri.scheme === "file") {
    // The opened folder bounds what the job may follow; without one, the job's own folder does.
    const opened = vscode.workspace.getWorkspaceFolder(document.uri);
    folder = opened?.uri.fsPath ?? dirname(document.uri.fsPath);
    words.push("--within", folder, "--as", relative(folder, document.uri.fsPath));
  }
  return new Promise((resolve) => {
    const options = { cwd: folder, signal, timeout: PATIENCE_MILLISECONDS, maxBuffer: 256 * 1024 * 1024 };
    const child = execFile(command, words, options, (fault, out, complaint) => {
      if (out) {
        resolve(readFigures(out));
      } else {
        resolve(complaint.trim() || fault?.message || "the `trialfit` command stopped and did not say why");
      }
    });
    // A command that ended early does not read; its answer says why.
    child.stdin?.on("error", () => undefined);
    child.stdin?.end(document.getText());
  });
}
