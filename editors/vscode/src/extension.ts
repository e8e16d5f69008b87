// The extension's start and end: it starts the language server, offers the commands and the task. What the language
// means is the server's business; nothing is judged here, nothing is sent anywhere but to the `trialfit` command.

import * as vscode from "vscode";
import { LanguageClient, State, type LanguageClientOptions, type ServerOptions } from "vscode-languageclient/node";
import { Drawing } from "./drawing";
import { Figures } from "./figures";
import { Checks } from "./task";

/** A client that leaves it to this extension to say why the server did not start: once, and with what to do. */
class Client extends LanguageClient {
  private up = false;

  override async start(): Promise<void> {
    await super.start();
    this.up = true;
  }

  override error(message: string, data?: unknown, show: boolean | "force" = true): void {
    super.error(message, data, this.up && show);
  }
}

let client: LanguageClient | undefined;

export async function activate(context: vscode.ExtensionContext): Promise<void> {
  const figures = new Figures(context.extensionUri);
  const drawing = new Drawing(context.extensionUri, () => client);
  context.subscriptions.push(
    figures,
    drawing,
    vscode.commands.registerCommand("trialfit.showFigures", (address?: unknown, line?: unknown) => figures.show(address, line)),
    vscode.commands.registerCommand("trialfit.showDrawing", (address?: unknown, line?: unknown) => drawing.show(address, line)),
    vscode.commands.registerCommand("trialfit.showAccount", showAccount),
    vscode.commands.registerCommand("trialfit.openPracticeJob", () => openPracticeJob(context.extensionUri)),
    vscode.commands.registerCommand("trialfit.restartServer", restart),
    vscode.tasks.registerTaskProvider("trialfit", new Checks()),
    vscode.workspace.onDidChangeConfiguration((change) => {
      // The server is told of its own settings while it runs; which program it is, only a start decides.
      if (change.affectsConfiguration("trialfit.path")) {
        void restart();
      }
    }),
  );
  await start();
}

/** Every question that the rules ask of the job in the editor, with its answer, as text beside it. */
async function showAccount(): Promise<void> {
  const document = vscode.window.activeTextEditor?.document;
  if (document?.languageId !== "trialfit" || client === undefined) {
    return;
  }
  const content = await client.sendRequest<string | null>("trialfit/account", {
    textDocument: { uri: document.uri.toString() },
  });
  if (content !== null) {
    const shown = await vscode.workspace.openTextDocument({ content, language: "plaintext" });
    await vscode.window.showTextDocument(shown, { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true });
  }
}

export async function deactivate(): Promise<void> {
  await stop();
}

async function start(): Promise<void> {
  const settings = vscode.workspace.getConfiguration("trialfit");
  const command = settings.get("path", "trialfit");
  const server: ServerOptions = { command, args: ["serve"] };
  const options: LanguageClientOptions = {
    documentSelector: [
      { language: "trialfit", scheme: "file" },
      { language: "trialfit", scheme: "untitled" },
    ],
    diagnosticCollectionName: "trialfit",
    initializationOptions: {
      // The settings as they are, without the functions that VS Code lays among them; the server takes what is its own.
      ...(JSON.parse(JSON.stringify(settings)) as object),
      // What this extension carries out where the server offers it above a run.
      commands: ["trialfit.showFigures", "trialfit.showDrawing"],
    },
    synchronize: { configurationSection: "trialfit" },
  };
  const starting = new Client("trialfit", "trialfit", server, options);
  starting.onDidChangeState(({ newState }) => {
    void vscode.commands.executeCommand("setContext", "trialfit.running", newState === State.Running);
  });
  client = starting;
  try {
    await starting.start();
  } catch (fault) {
    client = undefined;
    const reason = fault instanceof Error ? fault.message : String(fault);
    void tellHowToGetIt(command, reason);
  }
}

async function stop(): Promise<void> {
  const stopping = client;
  client = undefined;
  // A server that never came up cannot be stopped.
  if (stopping?.needsStop()) {
    await stopping.stop();
  }
}

let restarting: Promise<void> = Promise.resolve();

/** Starts the server anew, one restart after another. */
function restart(): Promise<void> {
  restarting = restarting.then(stop).then(start);
  return restarting;
}

async function tellHowToGetIt(command: string, reason: string): Promise<void> {
  const missing = reason.includes("ENOENT");
  const setting = "Where is trialfit?";
  const steps = "First steps";
  const chosen = await vscode.window.showErrorMessage(
    `trialfit: \`${command} serve\` did not start: ${missing ? "there is no such command" : reason}. ` +
      "Jobs are coloured but not checked. " +
      "Put `trialfit` on the PATH, or say where it is.",
    setting,
    steps,
  );
  if (chosen === setting) {
    await vscode.commands.executeCommand("workbench.action.openSettings", "trialfit.path");
  } else if (chosen === steps) {
    await vscode.commands.executeCommand("workbench.action.openWalkthrough", "trialfit.trialfit#start");
  }
}

/** A new, unsaved document with an invented job that carries one fault. */
async function openPracticeJob(extension: vscode.Uri): Promise<void> {
  const bytes = await vscode.workspace.fs.readFile(vscode.Uri.joinPath(extension, "practice", "practice.trialfit"));
  const content = new TextDecoder().decode(bytes);
  const document = await vscode.workspace.openTextDocument({ language: "trialfit", content });
  await vscode.window.showTextDocument(document);
}
