// Line ends: whether what stands behind one belongs to the block above. A comment at the margin belongs to it where an
// indented line follows, so that a remark between two lines does not end the block. No word of the language is known here.

#include "tree_sitter/alloc.h"
#include "tree_sitter/parser.h"

enum Token { INDENT, OUTDENT };

// What was decided for the run of margin comments that the last line end stands before, so that a long run is looked
// through once and not once a line.
typedef struct {
  uint8_t decided;  // 0: nothing; else 1 + the token
} Scanner;

static Scanner *the(void *payload) { return (Scanner *)payload; }

void *tree_sitter_trialfit_external_scanner_create(void) { return ts_calloc(1, sizeof(Scanner)); }

void tree_sitter_trialfit_external_scanner_destroy(void *payload) { ts_free(payload); }

unsigned tree_sitter_trialfit_external_scanner_serialize(void *payload, char *buffer) {
  buffer[0] = (char)the(payload)->decided;
  return 1;
}

void tree_sitter_trialfit_external_scanner_deserialize(void *payload, const char *buffer, unsigned length) {
  the(payload)->decided = length == 1 ? (uint8_t)buffer[0] : 0;
}

static bool is_blank(int32_t letter) {
  return letter == ' ' || letter == '\t' || letter == 0xa0 || letter == 0x202f || letter == 0x2009;
}

static bool is_line_end(int32_t letter) { return letter == '\n' || letter == '\r'; }

// Passes blanks; says whether there were any.
static bool pass_blanks(TSLexer *lexer, bool skip) {
  bool any = false;
  while (is_blank(lexer->lookahead)) {
    lexer->advance(lexer, skip);
    any = true;
  }
  return any;
}

bool tree_sitter_trialfit_external_scanner_scan(void *payload, TSLexer *lexer, const bool *wanted) {
  if (!wanted[INDENT] && !wanted[OUTDENT]) {
    return false;
  }
  pass_blanks(lexer, true);
  if (!is_line_end(lexer->lookahead)) {
    return false;
  }
  // Lines that hold nothing pass with the line end.
  bool indented = false;
  while (is_line_end(lexer->lookahead)) {
    lexer->advance(lexer, false);
    lexer->mark_end(lexer);
    indented = pass_blanks(lexer, false);
  }
  Scanner *scanner = the(payload);
  enum Token token = indented ? INDENT : OUTDENT;
  if (lexer->lookahead == '#' && !indented) {
    if (scanner->decided != 0) {
      token = (enum Token)(scanner->decided - 1);
    } else {
      // Past the comments: does an indented line follow?
      while (!indented && lexer->lookahead == '#') {
        while (!is_line_end(lexer->lookahead) && !lexer->eof(lexer)) {
          lexer->advance(lexer, false);
        }
        while (is_line_end(lexer->lookahead)) {
          lexer->advance(lexer, false);
          indented = pass_blanks(lexer, false);
        }
      }
      token = indented && !lexer->eof(lexer) ? INDENT : OUTDENT;
    }
    scanner->decided = (uint8_t)(1 + token);
  } else {
    scanner->decided = 0;
  }
  // A line end that nothing waits for is still a line end.
  if (!wanted[token]) {
    token = wanted[INDENT] ? INDENT : OUTDENT;
  }
  lexer->result_symbol = token;
  return true;
}
