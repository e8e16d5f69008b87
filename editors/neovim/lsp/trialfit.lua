-- The language server for Neovim's own client. Findings, hover, completion and fixes come from it.
return {
  cmd = { 'trialfit', 'serve' },
  filetypes = { 'trialfit' },
  -- The folder that a job and the workshop files it follows share; nothing outside it is read.
  root_markers = { 'workshop', '.git' },
}
