// The job's drawing beside its text. The language server draws it from the texts as they stand in the editor; this file
// only carries it over.

import * as vscode from "vscode";
import type { LanguageClient } from "vscode-languageclient/node";
import { Beside, type Answer } from "./beside";

/** An element of the drawing, and the part of the text that it stands for. */
interface Element {
  id: string;
  uri: string;
  range: { start: vscode.Position; end: vscode.Position };
}

/** What the server answers to `trialfit/drawing`. */
interface DrawingDocument {
  version: number;
  svg: string;
  elements: Element[];
}

export class Drawing extends Beside<DrawingDocument> {
  /** How wide the page is: the sheet is drawn for it, so that its words can be read without enlarging. */
  private width: number | undefined;

  constructor(
    extension: vscode.Uri,
    private readonly server: () => LanguageClient | undefined,
  ) {
    super(extension, {
      name: "drawing",
      title: "Drawing",
      caution:
        "Drawn from what the job says, not from the vehicle. The heater maker's instructions, local codes and licensed practice come first. Carbon monoxide kills.",
      inside: `<div id="zoom" role="toolbar" aria-label="Zoom">
<button id="fit" title="fit the sheet to the page">fit</button><button id="nearer" title="nearer">+</button><button id="farther" title="farther">−</button>
</div>
<main id="sheet"></main>`,
    });
  }

  protected override restsOn(document: vscode.TextDocument): boolean {
    // The server reads open workshop files as they stand in the editor.
    return document.languageId === "trialfit";
  }

  protected override async make(document: vscode.TextDocument): Promise<Answer<DrawingDocument>> {
    const server = this.server();
    if (!server?.isRunning()) {
      return "the language server is not running: use the command `trialfit: Restart the language server`";
    }
    try {
      const textDocument = server.code2ProtocolConverter.asTextDocumentIdentifier(document);
      const drawn = await server.sendRequest<DrawingDocument | null>("trialfit/drawing", { textDocument, width: this.width });
      return drawn ?? "the language server has no drawing of this document";
    } catch (fault) {
      return fault instanceof Error ? fault.message : String(fault);
    }
  }

  protected override message(shown: DrawingDocument): object {
    return { say: "drawing", svg: shown.svg };
  }

  protected override hear(message: Record<string, unknown>): boolean {
    const before = this.width;
    if (message.say === "width" && typeof message.width === "number") {
      // A hidden page has no width.
      this.width = Math.min(2400, Math.max(720, Math.round(message.width))) || before;
    }
    return this.width !== before;
  }

  /** Points at all that the cursor's line and its block draw; the page chooses. */
  protected override point(editor: vscode.TextEditor, shown: DrawingDocument): void {
    const line = editor.selection.active.line;
    const address = this.server()?.code2ProtocolConverter.asUri(editor.document.uri);
    const here = shown.elements.filter(
      ({ uri, range }) => uri === address && range.start.line <= line && line <= range.end.line,
    );
    this.tell({ say: "point", ids: here.map(({ id }) => id) });
  }

  protected override lead(message: Record<string, unknown>, shown: DrawingDocument): vscode.Location | undefined {
    const element = shown.elements.find(({ id }) => id === message.id);
    const converter = this.server()?.protocol2CodeConverter;
    return element && converter?.asLocation(element);
  }
}
