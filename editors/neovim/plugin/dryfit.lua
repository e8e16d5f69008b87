-- Starts the server where a job is opened.
vim.lsp.enable('dryfit')
