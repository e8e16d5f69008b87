// The document that `trialfit figures --form json` writes, as far as it is shown. `trialfit schema figures` describes it.

export interface Point {
  line: number;
  column: number;
}

export interface Where {
  path: string;
  start: Point;
  end: Point;
}

export interface Step {
  what: string;
  formula: string;
  inputs: { symbol: string; shown: string }[];
  shown: string;
  source: string;
}

export interface Figure {
  section: string;
  subject: Where;
  title: string;
  case: string;
  shown: string;
  rests_on: Where[];
  working: Step[];
}

export interface NotComputed {
  section: string;
  subject: Where;
  title: string;
  because: string;
}

export interface FiguresDocument {
  form: "trialfit.figures";
  version: number;
  path: string;
  caution: string;
  figures: Figure[];
  not_computed: NotComputed[];
}

/** Reads what the command wrote; a reason to show where it is something else. */
export function readFigures(text: string): FiguresDocument | string {
  let read: unknown;
  try {
    read = JSON.parse(text);
  } catch {
    return "the `trialfit` command gave no figures: is `trialfit.path` the right command?";
  }
  const document = read as FiguresDocument;
  if (document?.form !== "trialfit.figures") {
    return "the `trialfit` command gave no figures: is `trialfit.path` the right command?";
  }
  if (document.version !== 1) {
    return `the command writes version ${document.version} of its figures, this extension reads version 1`;
  }
  return document;
}
