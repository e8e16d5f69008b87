// Bundles the extension into one small file and lays the project's licence beside it. Nothing is fetched.
import { build } from "esbuild";
import { copyFileSync } from "node:fs";

await build({
  entryPoints: ["src/extension.ts"],
  outfile: "out/extension.js",
  bundle: true,
  external: ["vscode"],
  format: "cjs",
  platform: "node",
  target: "node20",
  minify: true,
  legalComments: "linked",
  logLevel: "warning",
});
// The licence stands once in the project, at its top.
copyFileSync("../../LICENSE", "LICENSE");
