// The tasks `trialfit: check`: the command over the whole folder, one line for each finding, read by the problem matchers.

import * as vscode from "vscode";

export class Checks implements vscode.TaskProvider {
  provideTasks(): vscode.Task[] {
    return (vscode.workspace.workspaceFolders ?? []).flatMap((folder) => [
      check({ type: "trialfit" }, folder),
      check({ type: "trialfit", final: true }, folder),
    ]);
  }

  resolveTask(task: vscode.Task): vscode.Task | undefined {
    const scope = task.scope;
    return typeof scope === "object" ? check(task.definition, scope) : undefined;
  }
}

function check(definition: vscode.TaskDefinition, folder: vscode.WorkspaceFolder): vscode.Task {
  const last = definition.final === true;
  const command = vscode.workspace.getConfiguration("trialfit", folder).get("path", "trialfit");
  const words = ["check", "--form", "line", ...(last ? ["--final"] : [])];
  const run = new vscode.ProcessExecution(command, words, { cwd: folder.uri.fsPath });
  const name = last ? "check before building" : "check";
  const task = new vscode.Task(definition, folder, name, "trialfit", run, ["$trialfit", "$trialfit-advice"]);
  task.group = vscode.TaskGroup.Build;
  task.presentationOptions = { reveal: vscode.TaskRevealKind.Silent };
  return task;
}
