// The page that figures are shown on, before any figure is in it. It may load its own style and script and nothing else.

import { randomBytes } from "node:crypto";

export function page(source: string, style: string, script: string): string {
  const nonce = randomBytes(16).toString("base64");
  return `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src ${source}; script-src 'nonce-${nonce}';">
<link rel="stylesheet" href="${style}">
<title>Figures</title>
</head>
<body>
<p id="caution" role="note">Figures are not an approval: the heater maker's instructions, local codes and licensed practice come first; carbon monoxide kills.</p>
<p id="fault" role="alert" hidden></p>
<main id="figures" aria-live="polite"></main>
<script nonce="${nonce}" src="${script}"></script>
</body>
</html>`;
}
