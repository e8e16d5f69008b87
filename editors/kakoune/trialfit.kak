# trialfit in Kakoune: file type, comments, indentation, colours. What the language means is the server's business.
# The colours are in trialfit-highlight.kak, beside this file, which is to be sourced first.

hook global BufCreate .*\.trialfit %{ set-option buffer filetype trialfit }

hook global BufSetOption filetype=trialfit %{
    set-option buffer comment_line '#'
    set-option buffer indentwidth 2
    set-option buffer tabstop 2
}

hook -group trialfit-highlight global WinSetOption filetype=trialfit %{
    add-highlighter window/trialfit ref trialfit
    hook -once -always window WinSetOption filetype=.* %{ remove-highlighter window/trialfit }
}
