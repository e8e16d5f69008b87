// The page that stands beside a text, before anything is shown on it. It may load its own style and script and nothing
// else.

import { randomBytes } from "node:crypto";

export interface Parts {
  /** Where the editor serves the extension's own files from. */
  source: string;
  style: string;
  script: string;
  title: string;
  caution: string;
  inside: string;
}

export function page({ source, style, script, title, caution, inside }: Parts): string {
  const nonce = randomBytes(16).toString("base64");
  return `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src ${source}; script-src 'nonce-${nonce}';">
<link rel="stylesheet" href="${style}">
<title>${title}</title>
</head>
<body>
<p id="caution" role="note">${caution}</p>
<p id="fault" role="alert" hidden></p>
${inside}
<script nonce="${nonce}" src="${script}"></script>
</body>
</html>`;
}
