// What a trialfit file is made of, by shape: lines, blocks, words, numbers with units. The words themselves are in
// `words.js`, which is made from the language's own table; whether a word fits where it stands is the checker's business.

const words = require("./words.js");

// Blanks as the language counts them: space, tab, no-break and thin spaces.
const BLANK = "[ \\t\\u00a0\\u202f\\u2009]";
const LETTER = "\\p{L}\\p{M}°²³\\u00b5";

module.exports = grammar({
  name: "trialfit",

  extras: (_) => [new RegExp(BLANK)],
  word: ($) => $.word,
  // Line ends, by what the lines behind them belong to; `src/scanner.c` looks ahead for that.
  externals: ($) => [$._indent, $._outdent],

  rules: {
    source_file: ($) =>
      seq(
        optional("\ufeff"),
        optional($._top),
        repeat(choice(seq($._outdent, optional($._top)), $.loose)),
      ),

    _top: ($) => choice($.file_line, $.block, $.comment),

    // `trialfit 1`, `follows "workshop/sheets.trialfit"`
    file_line: ($) => seq(field("word", $.file_word), repeat($._item), optional($.comment)),
    file_word: (_) => choice(...words.fileWords),

    // A header and the indented lines below it, with the comments between them.
    block: ($) =>
      prec.right(seq($.header, repeat(seq($._indent, optional(choice($.property, $.comment)))))),
    header: ($) =>
      seq(
        field("kind", choice($.kind, $.unknown_word)),
        repeat(choice($.of, field("name", $.name), $._not_a_word, alias($._glued, $.stray))),
        optional($.comment),
      ),
    kind: (_) => choice(...words.headers),
    of: (_) => choice("of", "as"),
    name: ($) => $.word,

    property: ($) => seq(choice(field("word", choice($.property_word, $.unknown_word)), $._not_a_word), repeat($._item), optional($.comment)),
    property_word: (_) => choice(...words.properties),
    unknown_word: ($) => $.word,
    // Indented lines without a header above them.
    loose: ($) => seq($._indent, optional(choice($.property, $.comment))),

    _item: ($) => choice($.direction, $.reserved, $.value, $.label, $._not_a_word, alias($._glued, $.stray)),
    direction: (_) => choice(...words.directions),
    reserved: (_) => choice(...words.reserved),
    value: (_) => choice(...words.values.filter((word) => !words.units.includes(word))),
    // A name, a material, a word of the author's own.
    label: ($) => $.word,

    _not_a_word: ($) => choice($.quantity, $.date, $.text, $.times, $.doubt, $.blank, $.comma, $.stray),
    quantity: ($) => prec.right(seq($.number, optional($.unit))),
    number: (_) => token(/[-\u2212]?([0-9]+(\.[0-9]+|\/[0-9]+|(,[0-9]+)+(\.[0-9]+)?)?|\.[0-9]+)/),
    unit: (_) => choice(...words.units),
    date: (_) => token(prec(1, /[0-9]{4}-[0-9]{2}-[0-9]{2}/)),
    // An unclosed quote ends with its line.
    text: (_) => token(/"[^"\r\n]*"?/),
    times: (_) => "×",
    doubt: (_) => choice("±", "+/-", "+-", "..", "…"),
    blank: (_) => "?",
    comma: (_) => ",",
    stray: (_) => /[!$&'()*:;<=>@\[\\\]^`{|}~.+\-\u2212]+/,
    // `#` opens a comment behind a blank only.
    _glued: (_) => token.immediate(/#[^ \t\r\n]*/),

    comment: (_) => token(prec(-1, /#[^\r\n]*/)),
    word: (_) => new RegExp(`[A-Za-z_/%${LETTER}]([A-Za-z0-9_/%'\\-${LETTER}]|\\.[A-Za-z0-9])*`),
  },
});
