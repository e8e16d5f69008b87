// The job's figures beside its text: a page that follows the text and the cursor. The figures are computed by the
// `dryfit` command from the text as it stands in the editor, saved or not; this file only carries them over.

import { execFile } from "node:child_process";
import { dirname, relative } from "node:path";
import * as vscode from "vscode";
import { readFigures, type FiguresDocument, type Where } from "./document";
import { page } from "./page";

/** How long the text must rest before figures are computed anew. */
const QUIET_MILLISECONDS = 150;
/** No job is that long to compute; a command that hangs is ended. */
const PATIENCE_MILLISECONDS = 20_000;

export class Figures implements vscode.Disposable {
  private panel: vscode.WebviewPanel | undefined;
  private job: vscode.TextDocument | undefined;
  private timer: NodeJS.Timeout | undefined;
  private shown: FiguresDocument | undefined;
  private running: AbortController | undefined;
  private readonly listeners: vscode.Disposable[];

  constructor(private readonly extension: vscode.Uri) {
    this.listeners = [
      vscode.workspace.onDidChangeTextDocument((change) => {
        // A workshop file's edit changes nothing until it is saved: the command reads followed files from the disk.
        if (change.document === this.job && change.contentChanges.length > 0) {
          this.later();
        }
      }),
      vscode.workspace.onDidSaveTextDocument((document) => {
        if (document.languageId === "dryfit") {
          this.later();
        }
      }),
      vscode.window.onDidChangeActiveTextEditor((editor) => {
        if (this.panel && editor?.document.languageId === "dryfit" && editor.document !== this.job) {
          this.take(editor.document);
        }
      }),
      vscode.window.onDidChangeTextEditorSelection((change) => {
        if (change.textEditor.document === this.job) {
          this.follow(change.textEditor);
        }
      }),
    ];
  }

  /** Shows the figures of the job in front; where an address and a line are said, of that job, at that line. */
  async show(address?: unknown, line?: unknown): Promise<void> {
    if (typeof address === "string") {
      const at = new vscode.Position(typeof line === "number" ? line : 0, 0);
      await vscode.window.showTextDocument(vscode.Uri.parse(address), { selection: new vscode.Range(at, at) });
    }
    const editor = vscode.window.activeTextEditor;
    if (editor?.document.languageId !== "dryfit") {
      void vscode.window.showInformationMessage("dryfit: open a job first, then show its figures.");
      return;
    }
    if (this.panel) {
      this.panel.reveal(undefined, true);
    } else {
      this.panel = this.open();
    }
    this.take(editor.document);
  }

  dispose(): void {
    this.panel?.dispose();
    for (const listener of this.listeners) {
      listener.dispose();
    }
  }

  private open(): vscode.WebviewPanel {
    const media = vscode.Uri.joinPath(this.extension, "media");
    const panel = vscode.window.createWebviewPanel(
      "dryfit.figures",
      "Figures",
      { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true },
      { enableScripts: true, localResourceRoots: [media] },
    );
    panel.webview.html = page(
      panel.webview.cspSource,
      panel.webview.asWebviewUri(vscode.Uri.joinPath(media, "figures.css")).toString(),
      panel.webview.asWebviewUri(vscode.Uri.joinPath(media, "figures.js")).toString(),
    );
    panel.webview.onDidReceiveMessage((message: { say: string; index?: number }) => {
      if (message.say === "ready") {
        this.send();
      } else if (message.say === "go" && typeof message.index === "number") {
        void this.go(message.index);
      }
    });
    panel.onDidDispose(() => {
      this.panel = undefined;
      this.job = undefined;
      this.shown = undefined;
      clearTimeout(this.timer);
      this.running?.abort();
    });
    // A hidden page forgets what it showed.
    panel.onDidChangeViewState(() => panel.visible && this.send());
    return panel;
  }

  private take(document: vscode.TextDocument): void {
    this.job = document;
    this.shown = undefined;
    if (this.panel) {
      this.panel.title = `Figures: ${document.uri.path.split("/").pop() ?? ""}`;
    }
    void this.compute();
  }

  private later(): void {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.compute(), QUIET_MILLISECONDS);
  }

  private async compute(): Promise<void> {
    const document = this.job;
    if (!this.panel || !document) {
      return;
    }
    this.running?.abort();
    const running = new AbortController();
    this.running = running;
    const said = await figuresOf(document, running.signal);
    if (running.signal.aborted || this.job !== document) {
      return;
    }
    if (typeof said === "string") {
      this.shown = undefined;
      void this.panel?.webview.postMessage({ say: "fault", reason: said });
      return;
    }
    this.shown = said;
    this.send();
  }

  private send(): void {
    if (this.panel && this.shown) {
      void this.panel.webview.postMessage({ say: "figures", document: this.shown });
      const editor = vscode.window.visibleTextEditors.find((editor) => editor.document === this.job);
      if (editor) {
        this.follow(editor);
      }
    }
  }

  /** Points at the figures that rest on the cursor's line; where none does, at those of its block. */
  private follow(editor: vscode.TextEditor): void {
    const figures = this.shown;
    if (!this.panel || !figures) {
      return;
    }
    const line = editor.selection.active.line + 1;
    const here = (where: Where) => where.path === figures.path && where.start.line <= line && line <= where.end.line;
    const numbered = figures.figures.map((figure, index) => ({ figure, index }));
    let pointed = numbered.filter(({ figure }) => figure.rests_on.some(here));
    if (pointed.length === 0) {
      const header = headerAbove(editor.document, line - 1) + 1;
      pointed = numbered.filter(
        ({ figure }) => figure.subject.path === figures.path && figure.subject.start.line === header,
      );
    }
    void this.panel.webview.postMessage({ say: "point", indices: pointed.map(({ index }) => index) });
  }

  private async go(index: number): Promise<void> {
    const figures = this.shown;
    const subject = figures?.figures[index]?.subject;
    if (!this.job || !subject || subject.path !== figures?.path) {
      return;
    }
    const at = new vscode.Position(subject.start.line - 1, 0);
    const column = vscode.window.visibleTextEditors.find((editor) => editor.document === this.job)?.viewColumn;
    await vscode.window.showTextDocument(this.job, { viewColumn: column, selection: new vscode.Range(at, at) });
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
  const settings = vscode.workspace.getConfiguration("dryfit", document);
  const command = settings.get("path", "dryfit");
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
        resolve(complaint.trim() || fault?.message || "the command said nothing");
      }
    });
    // A command that ended early does not read; its answer says why.
    child.stdin?.on("error", () => undefined);
    child.stdin?.end(document.getText());
  });
}
