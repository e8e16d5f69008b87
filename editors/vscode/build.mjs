// Bundles the extension into one small file and lays the licences beside it: the project's own, and those of the packages
// that the bundle holds. Nothing is fetched.
import { build } from "esbuild";
import { copyFileSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";

const { metafile } = await build({
  entryPoints: ["src/extension.ts"],
  outfile: "out/extension.js",
  bundle: true,
  external: ["vscode"],
  format: "cjs",
  platform: "node",
  target: "node20",
  minify: true,
  metafile: true,
  logLevel: "warning",
});

// The licence stands once in the project, at its top.
copyFileSync("../../LICENSE", "LICENSE");

const folders = new Set(
  Object.keys(metafile.inputs).flatMap((input) => input.match(/^(.*node_modules\/(?:@[^/]+\/)?[^/]+)\//)?.[1] ?? []),
);
const notices = [...folders].sort().map((folder) => {
  const { name, version, license } = JSON.parse(readFileSync(join(folder, "package.json"), "utf8"));
  const file = readdirSync(folder).find((name) => /^licen[cs]e/i.test(name));
  if (!file) {
    throw new Error(`${name} is bundled and has no licence to lay beside it`);
  }
  return `${name} ${version} (${license})\n\n${readFileSync(join(folder, file), "utf8").trim()}\n`;
});
writeFileSync("out/NOTICES.txt", notices.join(`\n${"-".repeat(80)}\n\n`));
