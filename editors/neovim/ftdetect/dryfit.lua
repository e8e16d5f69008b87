-- Files that end in `.dryfit` are jobs and workshop files.
vim.filetype.add({ extension = { dryfit = 'dryfit' } })
