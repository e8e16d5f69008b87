-- Drives the real editor, headless: opens the job, waits for its findings, hovers, applies the fix, formats; writes what
-- it saw to $RESULT as JSON. Exits with 1 where a step does not come about.
vim.opt.runtimepath:prepend(vim.env.EDITOR_FOLDER)
vim.opt.swapfile = false
vim.opt.shadafile = 'NONE'
vim.cmd('filetype plugin on')
vim.cmd('runtime! ftdetect/dryfit.lua plugin/dryfit.lua')
if vim.env.DRYFIT_SERVE then
  vim.lsp.config('dryfit', { cmd = vim.split(vim.env.DRYFIT_SERVE, ' ') })
end

local seen = {}
local function finish(code)
  vim.fn.writefile({ vim.json.encode(seen) }, vim.env.RESULT)
  for _, client in ipairs(vim.lsp.get_clients()) do
    client:stop()
  end
  vim.wait(5000, function() return #vim.lsp.get_clients() == 0 end)
  seen.stopped = #vim.lsp.get_clients() == 0
  vim.fn.writefile({ vim.json.encode(seen) }, vim.env.RESULT)
  vim.cmd(code .. 'cquit!')
end
local function await(what, ready)
  if not vim.wait(20000, ready, 20) then
    seen.missing = what
    finish(1)
  end
end
local function findings()
  return vim.tbl_map(function(it)
    return { code = it.code, line = it.lnum, column = it.col, ends = it.end_col, severity = it.severity }
  end, vim.diagnostic.get(0))
end

vim.api.nvim_create_autocmd('VimEnter', {
  callback = function()
    vim.schedule(function()
      seen.filetype = vim.bo.filetype
      seen.commentstring = vim.bo.commentstring
      await('a client', function() return #vim.lsp.get_clients({ bufnr = 0 }) == 1 end)
      local client = vim.lsp.get_clients({ bufnr = 0 })[1]
      await('the greeting', function() return client.initialized end)
      seen.encoding = client.offset_encoding
      seen.root = client.root_dir
      await('findings', function() return #vim.diagnostic.get(0) > 0 end)
      seen.before = findings()
      local at = vim.diagnostic.get(0)[1]
      vim.api.nvim_win_set_cursor(0, { at.lnum + 1, at.col })

      local params = vim.lsp.util.make_position_params(0, client.offset_encoding)
      local answer = client:request_sync('textDocument/hover', params, 20000, 0)
      seen.hover = answer and answer.result and answer.result.contents.value

      vim.lsp.buf.code_action({
        apply = true,
        filter = function(action) return action.kind == 'quickfix' end,
      })
      await('the fix', function() return #vim.diagnostic.get(0) == 0 end)
      seen.text = vim.api.nvim_buf_get_lines(0, 0, -1, false)

      vim.api.nvim_buf_set_lines(0, at.lnum, at.lnum + 1, false, { '\tsize   4mm²' })
      vim.lsp.buf.format({ timeout_ms = 20000 })
      seen.formatted = vim.api.nvim_buf_get_lines(0, at.lnum, at.lnum + 1, false)[1]
      finish(0)
    end)
  end,
})
