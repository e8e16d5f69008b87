" Made by editors/generate from the language's own table; edit that, not this.
if exists('b:did_indent')
  finish
endif
let b:did_indent = 1
let b:undo_indent = 'setlocal indentexpr< indentkeys<'
setlocal indentexpr=TrialfitIndent()
setlocal indentkeys=o,O

" One step in below a header, else as the line above.
function! TrialfitIndent() abort
  let above = prevnonblank(v:lnum - 1)
  if above == 0
    return 0
  endif
  return getline(above) =~# '\v^%(combustion-air|coolant-line|concession|keep-clear|return-air|datasheet|fuel-line|practice|warm-air|battery|exhaust|opening|vehicle|change|heater|sketch|alarm|cable|space|stock|table|usual|tank|fit|job|kit)\s' ? shiftwidth() : indent(above)
endfunction
