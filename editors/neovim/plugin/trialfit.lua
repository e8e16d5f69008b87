-- Starts the server where a job is opened: by Neovim's own table of servers (0.11 and later), else by hand; and shows a
-- job's drawing.
if vim.g.loaded_trialfit then
  return
end
vim.g.loaded_trialfit = true

-- The server draws, a file below the cache folder takes it, and what the system opens such files with shows it.
local function show(svg, uri)
  local folder = vim.fn.stdpath('cache') .. '/trialfit'
  vim.fn.mkdir(folder, 'p')
  -- One file a job: a viewer that watches it shows the next drawing, too.
  local path = folder .. '/' .. vim.fn.sha256(uri):sub(1, 16) .. '.svg'
  vim.fn.writefile(vim.split(svg, '\n', { plain = true }), path .. '.part')
  vim.fn.rename(path .. '.part', path)
  if vim.ui.open then
    vim.ui.open(path)
  else
    vim.notify('trialfit: the drawing is in ' .. path)
  end
end

vim.api.nvim_create_user_command('TrialfitDrawing', function()
  local uri = vim.uri_from_bufnr(0)
  vim.lsp.buf_request_all(0, 'trialfit/drawing', { textDocument = { uri = uri } }, function(answers)
    for _, answer in pairs(answers) do
      if type(answer.result) == 'table' and answer.result.svg then
        return show(answer.result.svg, uri)
      end
    end
    vim.notify('trialfit: no drawing: the language server does not serve this buffer', vim.log.levels.WARN)
  end)
end, { desc = 'draw the job to scale and open the drawing' })

if vim.lsp.enable then
  vim.lsp.enable('trialfit')
  return
end

local here = vim.fn.fnamemodify(debug.getinfo(1, 'S').source:sub(2), ':p:h:h')
local config = dofile(here .. '/lsp/trialfit.lua')
-- The client of a folder, for the versions that do not look for it themselves.
local clients = {}

-- The nearest folder above that holds one of the markers; else the job's own.
local function root_of(path)
  local folder = vim.fn.fnamemodify(path, ':p:h')
  local above = folder
  while true do
    for _, marker in ipairs(config.root_markers) do
      if vim.fn.isdirectory(above .. '/' .. marker) == 1 then
        return above
      end
    end
    local next_above = vim.fn.fnamemodify(above, ':h')
    if next_above == above then
      return folder
    end
    above = next_above
  end
end

local function attach(buffer)
  -- `vim.g.trialfit = { cmd = …, init_options = … }`, where something else is wanted.
  local wanted = vim.tbl_extend('force', { name = 'trialfit', cmd = config.cmd }, vim.g.trialfit or {})
  wanted.root_dir = root_of(vim.api.nvim_buf_get_name(buffer))
  if vim.lsp.start then
    vim.lsp.start(wanted)
    return
  end
  wanted.on_attach = function(_, attached)
    vim.bo[attached].omnifunc = 'v:lua.vim.lsp.omnifunc'
  end
  local client = clients[wanted.root_dir]
  if not client or vim.lsp.client_is_stopped(client) then
    client = vim.lsp.start_client(wanted)
    clients[wanted.root_dir] = client
  end
  if client then
    vim.lsp.buf_attach_client(buffer, client)
  end
end

vim.api.nvim_create_autocmd('FileType', {
  pattern = 'trialfit',
  callback = function(event) attach(event.buf) end,
})
