-- Files that end in `.trialfit` are jobs and workshop files. By an autocommand, since 0.7 asks no table of its own.
vim.api.nvim_create_autocmd({ 'BufRead', 'BufNewFile' }, {
  pattern = '*.trialfit',
  callback = function()
    if vim.bo.filetype ~= 'trialfit' then
      vim.bo.filetype = 'trialfit'
    end
  end,
})
