;;; trialfit-settings.el --- Settings of trialfit's language server -*- lexical-binding: t; coding: utf-8 -*-

;; Made by editors/generate from the language's own table; edit that, not this.

;;; Code:

(defgroup trialfit nil
  "Jobs of fuel-fired air heaters."
  :group 'languages)

(defcustom trialfit-blank-hints t
  "The setting `blankHints' of the language server.
Show behind a blank (`?`) what it can be filled with. Tried when such a line
comes into view, once a version of the text."
  :group 'trialfit
  :type 'boolean)

(defcustom trialfit-closed-files t
  "The setting `closedFiles' of the language server.
Judge the job files of the opened folders that are not open, too. At most
2,000 files; never outside the opened folders."
  :group 'trialfit
  :type 'boolean)

(defcustom trialfit-code-lenses t
  "The setting `codeLenses' of the language server.
Show the margins of each run above its header, and the ways to figures and
drawing where the editor has them."
  :group 'trialfit
  :type 'boolean)

(defcustom trialfit-inlay-hints t
  "The setting `inlayHints' of the language server.
Show what follows from a line behind it: length and bends of a run, where it
ends, the voltage left."
  :group 'trialfit
  :type 'boolean)

(defcustom trialfit-quiet-milliseconds 40
  "The setting `quietMilliseconds' of the language server.
How long the text must rest before findings are computed anew, in
milliseconds."
  :group 'trialfit
  :type 'natnum)

(defcustom trialfit-rule-pages ""
  "The setting `rulePages' of the language server.
An address in front of a rule's name under which its page is read, such as a
copy of the rule catalogue on your own server. Findings link to it. Empty:
no link, since the tool has no page on the network; `trialfit explain RULE`
shows it."
  :group 'trialfit
  :type 'string)

(defun trialfit-settings ()
  "The settings as the server reads them."
  (list :blankHints (if trialfit-blank-hints t :json-false)
        :closedFiles (if trialfit-closed-files t :json-false)
        :codeLenses (if trialfit-code-lenses t :json-false)
        :inlayHints (if trialfit-inlay-hints t :json-false)
        :quietMilliseconds trialfit-quiet-milliseconds
        :rulePages trialfit-rule-pages))

(provide 'trialfit-settings)
;;; trialfit-settings.el ends here
