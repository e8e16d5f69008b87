# dryfit in Kakoune: file type, comments, indentation, colours. What the language means is the server's business.
# The colours are in dryfit-highlight.kak, beside this file, which is to be sourced first.

hook global BufCreate .*\.dryfit %{ set-option buffer filetype dryfit }

hook global BufSetOption filetype=dryfit %{
    set-option buffer comment_line '#'
    set-option buffer indentwidth 2
    set-option buffer tabstop 2
}

hook -group dryfit-highlight global WinSetOption filetype=dryfit %{
    add-highlighter window/dryfit ref dryfit
    hook -once -always window WinSetOption filetype=.* %{ remove-highlighter window/dryfit }
}
