// A page beside a job's text that follows the text and the cursor: what is common to all of them. What a page shows, and
// where that comes from, is said in the classes that build on this one.

import * as vscode from "vscode";
import { page } from "./page";

/** How long the text must rest before a page is made anew. */
const QUIET_MILLISECONDS = 150;

/** What one kind of page is called. */
export interface Looks {
  /** In identifiers and file names: `figures`. */
  name: string;
  /** In titles: `Figures`. */
  title: string;
  /** What the page says before anything is shown. */
  caution: string;
  /** What is in the page before anything is shown. */
  inside: string;
}

/** What is shown, or as a text why nothing can be. */
export type Answer<Shown> = Shown | string;

export abstract class Beside<Shown extends object> implements vscode.Disposable {
  protected panel: vscode.WebviewPanel | undefined;
  protected job: vscode.TextDocument | undefined;
  protected shown: Shown | undefined;
  private timer: NodeJS.Timeout | undefined;
  private running: AbortController | undefined;
  private readonly listeners: vscode.Disposable[];

  constructor(
    private readonly extension: vscode.Uri,
    private readonly looks: Looks,
  ) {
    this.listeners = [
      vscode.workspace.onDidChangeTextDocument((change) => {
        if (change.contentChanges.length > 0 && this.restsOn(change.document)) {
          this.later();
        }
      }),
      vscode.workspace.onDidSaveTextDocument((document) => {
        if (document.languageId === "trialfit") {
          this.later();
        }
      }),
      vscode.window.onDidChangeActiveTextEditor((editor) => {
        if (this.panel && editor?.document.languageId === "trialfit" && editor.document !== this.job) {
          this.take(editor.document);
        }
      }),
      vscode.window.onDidChangeTextEditorSelection((change) => {
        if (change.textEditor.document === this.job && this.panel && this.shown) {
          this.point(change.textEditor, this.shown);
        }
      }),
    ];
  }

  /** Whether the unsaved text of a document has a say in what is shown. */
  protected abstract restsOn(document: vscode.TextDocument): boolean;
  /** Makes what is to be shown of a job. */
  protected abstract make(document: vscode.TextDocument, signal: AbortSignal): Promise<Answer<Shown>>;
  /** What the page is told to show. */
  protected abstract message(shown: Shown): object;
  /** Tells the page what the cursor stands on. */
  protected abstract point(editor: vscode.TextEditor, shown: Shown): void;
  /** Where a click on the page leads. */
  protected abstract lead(message: Record<string, unknown>, shown: Shown): vscode.Location | undefined;

  /** Hears what else the page says; whether something else is to be shown now. */
  protected hear(_message: Record<string, unknown>): boolean {
    return false;
  }

  /** Shows the page of the job in front; where an address and a line are said, of that job, at that line. */
  async show(address?: unknown, line?: unknown): Promise<void> {
    if (typeof address === "string") {
      const at = new vscode.Position(typeof line === "number" ? line : 0, 0);
      await vscode.window.showTextDocument(vscode.Uri.parse(address), { selection: new vscode.Range(at, at) });
    }
    const editor = vscode.window.activeTextEditor;
    if (editor?.document.languageId !== "trialfit") {
      void vscode.window.showInformationMessage(`trialfit: open a job first, then show its ${this.looks.name}.`);
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

  protected tell(message: object): void {
    void this.panel?.webview.postMessage(message);
  }

  private open(): vscode.WebviewPanel {
    const { name, title, caution, inside } = this.looks;
    const media = vscode.Uri.joinPath(this.extension, "media");
    const panel = vscode.window.createWebviewPanel(
      `trialfit.${name}`,
      title,
      { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true },
      { enableScripts: true, localResourceRoots: [media] },
    );
    const file = (ending: string) => panel.webview.asWebviewUri(vscode.Uri.joinPath(media, `${name}.${ending}`)).toString();
    panel.webview.html = page({ source: panel.webview.cspSource, style: file("css"), script: file("js"), title, caution, inside });
    panel.webview.onDidReceiveMessage((message: Record<string, unknown>) => {
      if (message.say === "ready") {
        this.send();
      } else if (message.say === "go" && this.shown) {
        void this.go(this.lead(message, this.shown));
      } else if (this.hear(message)) {
        void this.compute();
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
      this.panel.title = `${this.looks.title}: ${document.uri.path.split("/").pop() ?? ""}`;
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
    const version = document.version;
    const made = await this.make(document, running.signal);
    // What was made of a text that is no more is not shown: the change that replaced it has asked anew.
    if (running.signal.aborted || this.job !== document || document.version !== version) {
      return;
    }
    if (typeof made === "string") {
      this.shown = undefined;
      this.tell({ say: "fault", reason: made });
      return;
    }
    this.shown = made;
    this.send();
  }

  private send(): void {
    if (this.panel && this.shown) {
      this.tell(this.message(this.shown));
      const editor = vscode.window.visibleTextEditors.find((editor) => editor.document === this.job);
      if (editor) {
        this.point(editor, this.shown);
      }
    }
  }

  private async go(to: vscode.Location | undefined): Promise<void> {
    if (this.job && to) {
      const column = vscode.window.visibleTextEditors.find((editor) => editor.document === this.job)?.viewColumn;
      await vscode.window.showTextDocument(to.uri, {
        viewColumn: column,
        selection: new vscode.Range(to.range.start, to.range.start),
      });
    }
  }
}
