;;; trialfit-settings.el --- Settings of trialfit's language server -*- lexical-binding: t; coding: utf-8 -*-

;; Made by editors/generate from the language's own table; edit that, not this.

;;; Code:

(defgroup trialfit nil
  "Jobs of fuel-fired air heaters."
  :group 'languages)

(defcustom trialfit-blank-hints t
  "The setting `blankHints' of the language server.
Show after a blank (`?`) what can fill it. The tool works this out when the
line comes into view."
  :group 'trialfit
  :type 'boolean)

(defcustom trialfit-closed-files t
  "The setting `closedFiles' of the language server.
Also judge job files that are not open. At most 2,000 files, and never
outside the opened folders."
  :group 'trialfit
  :type 'boolean)

(defcustom trialfit-code-lenses t
  "The setting `codeLenses' of the language server.
Show the margins of each run above its header. Where the editor can show
figures and drawings, show links to them too."
  :group 'trialfit
  :type 'boolean)

(defcustom trialfit-inlay-hints t
  "The setting `inlayHints' of the language server.
Show results at the end of a line: the length and bends of a run, where it
ends, the voltage left."
  :group 'trialfit
  :type 'boolean)

(defcustom trialfit-quiet-milliseconds 40
  "The setting `quietMilliseconds' of the language server.
How long to wait after the last keystroke before the text is checked again,
in milliseconds."
  :group 'trialfit
  :type 'natnum)

(defcustom trialfit-rule-pages ""
  "The setting `rulePages' of the language server.
The address of your own copy of the rule pages. The rule's name is added at
its end, and each finding links to it. Leave it empty for no link. `trialfit
explain RULE` shows the page in a terminal."
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
