;;; dryfit-settings.el --- Settings of dryfit's language server -*- lexical-binding: t; coding: utf-8 -*-

;; Made by editors/generate from the language's own table; edit that, not this.

;;; Code:

(defgroup dryfit nil
  "Jobs of fuel-fired air heaters."
  :group 'languages)

(defcustom dryfit-blank-hints t
  "The setting `blankHints' of the language server.
Show behind a blank (`?`) what it can be filled with. Tried when such a line
comes into view, once a version of the text."
  :group 'dryfit
  :type 'boolean)

(defcustom dryfit-closed-files t
  "The setting `closedFiles' of the language server.
Judge the job files of the opened folders that are not open, too. At most
2,000 files; never outside the opened folders."
  :group 'dryfit
  :type 'boolean)

(defcustom dryfit-code-lenses t
  "The setting `codeLenses' of the language server.
Show the margins of each run above its header, and the ways to figures and
drawing where the editor has them."
  :group 'dryfit
  :type 'boolean)

(defcustom dryfit-inlay-hints t
  "The setting `inlayHints' of the language server.
Show what follows from a line behind it: length and bends of a run, where it
ends, the voltage left."
  :group 'dryfit
  :type 'boolean)

(defcustom dryfit-quiet-milliseconds 40
  "The setting `quietMilliseconds' of the language server.
How long the text must rest before findings are computed anew, in
milliseconds."
  :group 'dryfit
  :type 'natnum)

(defcustom dryfit-rule-pages ""
  "The setting `rulePages' of the language server.
An address in front of a rule's name under which its page is read, such as a
copy of the rule catalogue on your own server. Findings link to it. Empty:
no link, since the tool has no page on the network; `dryfit explain RULE`
shows it."
  :group 'dryfit
  :type 'string)

(defun dryfit-settings ()
  "The settings as the server reads them."
  (list :blankHints (if dryfit-blank-hints t :json-false)
        :closedFiles (if dryfit-closed-files t :json-false)
        :codeLenses (if dryfit-code-lenses t :json-false)
        :inlayHints (if dryfit-inlay-hints t :json-false)
        :quietMilliseconds dryfit-quiet-milliseconds
        :rulePages dryfit-rule-pages))

(provide 'dryfit-settings)
;;; dryfit-settings.el ends here
