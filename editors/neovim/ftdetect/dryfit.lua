-- Files that end in `.dryfit` are jobs and workshop files. By an autocommand, since 0.7 asks no table of its own.
vim.api.nvim_create_autocmd({ 'BufRead', 'BufNewFile' }, {
  pattern = '*.dryfit',
  callback = function()
    if vim.bo.filetype ~= 'dryfit' then
      vim.bo.filetype = 'dryfit'
    end
  end,
})
