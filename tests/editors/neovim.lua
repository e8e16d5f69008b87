-- Drives the real editor, headless: opens the job, waits for its findings, hovers, applies the fix, formats, completes,
-- renames; writes what it saw to $RESULT as JSON. Exits with 1 where a step does not come about. Runs in 0.7 and later.
vim.opt.runtimepath:prepend(vim.env.EDITOR_FOLDER)
vim.opt.swapfile = false
vim.opt.shadafile = 'NONE'
local serve = { vim.env.TRIALFIT, 'serve' }
if vim.lsp.config then
  vim.lsp.config('trialfit', { cmd = serve })
else
  vim.g.trialfit = { cmd = serve }
end
vim.cmd('filetype plugin indent on')
vim.cmd('syntax on')
vim.cmd('runtime! ftdetect/trialfit.lua plugin/trialfit.lua')

local PATIENCE = 20000
local seen = {}
local encode = vim.json and vim.json.encode or vim.fn.json_encode
local function clients() return vim.tbl_values((vim.lsp.get_clients or vim.lsp.get_active_clients)()) end
local function finish(code)
  for _, client in ipairs(clients()) do
    if vim.lsp.get_clients then client:stop() else client.stop() end
  end
  vim.wait(5000, function() return #clients() == 0 end)
  seen.stopped = #clients() == 0
  vim.fn.writefile({ encode(seen) }, vim.env.RESULT)
  vim.cmd(code .. 'cquit!')
end
local function await(what, ready)
  if not vim.wait(PATIENCE, ready, 20) then
    seen.missing = what
    finish(1)
  end
end
local function findings()
  return vim.tbl_map(function(it)
    local code = it.code or it.user_data and it.user_data.lsp and it.user_data.lsp.code
    return { code = code, line = it.lnum, column = it.col, ends = it.end_col, severity = it.severity }
  end, vim.diagnostic.get(0))
end
-- One request's answer, from the only client.
local function ask(client, method, params)
  local answers = vim.lsp.buf_request_sync(0, method, params, PATIENCE)
  local answer = answers and answers[client.id]
  return answer and answer.result
end
local function here(client)
  return vim.lsp.util.make_position_params(0, client.offset_encoding)
end
local function group_at(text)
  local line, column = unpack(vim.fn.searchpos(text, 'nw'))
  return vim.fn.synIDattr(vim.fn.synID(line, column, 1), 'name')
end

local function drive()
  seen.version = vim.version().major .. '.' .. vim.version().minor
  seen.filetype = vim.bo.filetype
  seen.commentstring = vim.bo.commentstring
  await('a client', function() return #clients() == 1 end)
  local client = clients()[1]
  await('the greeting', function() return client.initialized or client.server_capabilities ~= nil end)
  seen.encoding = client.offset_encoding
  seen.root = client.config.root_dir
  seen.groups = vim.tbl_map(group_at, { '^follows', '^job', '^  \\zsdesign-cold', 'walk-round', '°C', '^# Inv', 'bench-van' })
  await('findings', function() return #vim.diagnostic.get(0) > 0 end)
  seen.before = findings()
  local at = vim.diagnostic.get(0)[1]
  vim.api.nvim_win_set_cursor(0, { at.lnum + 1, at.col })
  local hover = ask(client, 'textDocument/hover', here(client))
  seen.hover = hover and hover.contents.value

  if vim.lsp.get_clients then
    -- The first fix, as a reader who takes what is offered.
    local taken = false
    vim.lsp.buf.code_action({
      apply = true,
      filter = function(action)
        local first = not taken and action.kind == 'quickfix'
        taken = taken or first
        return first
      end,
    })
  else
    local params = vim.lsp.util.make_range_params(0, client.offset_encoding)
    params.context = { diagnostics = vim.lsp.diagnostic.get_line_diagnostics(0, at.lnum) }
    local actions = ask(client, 'textDocument/codeAction', params)
    local action = actions[1]
    if not action.edit then
      action = ask(client, 'codeAction/resolve', action)
    end
    vim.lsp.util.apply_workspace_edit(action.edit, client.offset_encoding)
  end
  await('the fix', function() return #vim.diagnostic.get(0) == 0 end)
  seen.text = vim.api.nvim_buf_get_lines(0, 0, -1, false)

  vim.api.nvim_buf_set_lines(0, at.lnum, at.lnum + 1, false, { '\tsize   4mm²' })
  if vim.lsp.buf.format then
    vim.lsp.buf.format({ timeout_ms = PATIENCE })
  else
    vim.lsp.buf.formatting_sync({}, PATIENCE)
  end
  seen.formatted = vim.api.nvim_buf_get_lines(0, at.lnum, at.lnum + 1, false)[1]

  -- The drawing: a file, which the system is asked to open.
  local opened
  if vim.ui.open then
    vim.ui.open = function(path) opened = path end
  end
  vim.cmd('TrialfitDrawing')
  local drawings = vim.fn.stdpath('cache') .. '/trialfit/*.svg'
  await('the drawing', function()
    opened = opened or (not vim.ui.open and vim.fn.glob(drawings) ~= '' and vim.fn.glob(drawings))
    return opened
  end)
  seen.drawing = vim.fn.join(vim.fn.readfile(opened), '\n')
  seen.drawn_below = vim.startswith(opened, vim.fn.stdpath('cache'))

  -- A new line below a header stands one step in.
  vim.fn.cursor(vim.fn.search('^battery', 'nw'), 1)
  vim.cmd('normal! oprobe')
  seen.indented = vim.api.nvim_get_current_line()
  vim.cmd('normal! dd')

  -- A half-typed word, as the omnifunction answers it.
  vim.api.nvim_buf_set_lines(0, at.lnum + 1, at.lnum + 1, false, { '  insul' })
  vim.api.nvim_win_set_cursor(0, { at.lnum + 2, 6 })
  local params = here(client)
  params.position.character = 7
  local items = ask(client, 'textDocument/completion', params)
  seen.completions = vim.tbl_map(function(item) return item.label end, items.items or items)
  vim.api.nvim_buf_set_lines(0, at.lnum + 1, at.lnum + 2, false, {})

  vim.fn.cursor(vim.fn.search('^battery \\zshouse', 'nw'), #'battery h')
  vim.lsp.buf.rename('leisure')
  await('the rename', function() return vim.fn.search('^battery leisure', 'nw') > 0 end)
  seen.renamed = vim.api.nvim_buf_get_lines(0, 0, -1, false)
  -- What older ones have not.
  if vim.lsp.inlay_hint then
    vim.lsp.inlay_hint.enable(true)
    await('hints', function() return #vim.lsp.inlay_hint.get({ bufnr = 0 }) > 0 end)
    seen.hints = #vim.lsp.inlay_hint.get({ bufnr = 0 })
  end
  if vim.lsp.semantic_tokens then
    local line, column = unpack(vim.fn.searchpos('^battery', 'nw'))
    local tokens
    await('tokens', function()
      tokens = vim.lsp.semantic_tokens.get_at_pos(0, line - 1, column - 1)
      return tokens and #tokens > 0
    end)
    seen.token = tokens[1].type
  end
  vim.fn.cursor(vim.fn.search('^heater \\zsreader', 'nw'), #'heater re')
  seen.highlights = #(ask(client, 'textDocument/documentHighlight', here(client)) or {})
  if vim.env.TREE_SITTER then
    vim.treesitter.language.add('trialfit', { path = vim.env.TREE_SITTER })
    vim.treesitter.query.set('trialfit', 'highlights', vim.fn.join(vim.fn.readfile(vim.env.TREE_SITTER_HIGHLIGHTS), '\n'))
    vim.treesitter.start(0, 'trialfit')
    vim.treesitter.get_parser(0, 'trialfit'):parse(true)
    local line, column = unpack(vim.fn.searchpos('°C', 'nw'))
    seen.captures = vim.tbl_map(
      function(capture) return capture.capture end,
      vim.treesitter.get_captures_at_pos(0, line - 1, column - 1)
    )
  end
  finish(0)
end

vim.api.nvim_create_autocmd('VimEnter', {
  callback = function()
    vim.schedule(function()
      local fine, fault = pcall(drive)
      if not fine then
        seen.missing = tostring(fault)
        finish(1)
      end
    end)
  end,
})
