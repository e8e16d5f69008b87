;;; Drives Emacs in batch: opens the job with the project's mode and eglot, waits for findings, applies the fix, formats,
;;; completes, renames; writes what it saw to $RESULT as JSON.  -*- lexical-binding: t; coding: utf-8 -*-

(require 'json)
(require 'cl-lib)
(require 'eglot)
(require 'trialfit-mode)

(setq trialfit-command (list (getenv "TRIALFIT") "serve")
      eglot-confirm-server-initiated-edits nil
      eglot-sync-connect 20
      eglot-send-changes-idle-time 0
      make-backup-files nil
      create-lockfiles nil)
(set-language-environment "UTF-8")

(defvar seen nil "What was seen, newest first.")
(defun saw (what value) (push (cons what value) seen))

(defun finish (code)
  (with-temp-file (getenv "RESULT")
    (set-buffer-file-coding-system 'utf-8)
    (insert (json-encode seen)))
  (kill-emacs code))

(defun await (what ready)
  "Wait until READY says so; the timers that an editor has while nobody types do not run in batch, so they are called."
  (let ((until (+ (float-time) 20)) answer)
    (while (not (setq answer (funcall ready)))
      (when (> (float-time) until)
        (saw 'missing what)
        (finish 1))
      (flymake-start)
      (accept-process-output nil 0.05))
    answer))

(defun told ()
  "Hand the edits to the server at once."
  (eglot--signal-textDocument/didChange))

(defun line-text (number)
  (save-excursion
    (goto-char (point-min))
    (forward-line number)
    (buffer-substring-no-properties (point) (line-end-position))))

(defun face-of (text)
  (save-excursion
    (goto-char (point-min))
    (search-forward text)
    (get-text-property (match-beginning 0) 'face)))

(defun drive (path)
  (condition-case fault
      (progn
        (find-file path)
        (saw 'mode (symbol-name major-mode))
        (font-lock-ensure)
        (saw 'faces (vconcat (mapcar (lambda (text) (format "%s" (face-of text)))
                                     '("follows" "job \"" "design-cold" "walk-round" "m³" "# Invented" "bench-van"))))
        ;; What `eglot-ensure' does once Emacs rests, which it never does in batch.
        (apply #'eglot--connect (eglot--guess-contact))
        (flymake-mode 1)
        (await "findings" (lambda () (flymake-diagnostics)))
        (let* ((found (car (flymake-diagnostics)))
               (line (1- (line-number-at-pos (flymake-diagnostic-beg found)))))
          (saw 'findings (length (flymake-diagnostics)))
          (saw 'line line)
          (saw 'marked (buffer-substring-no-properties (flymake-diagnostic-beg found) (flymake-diagnostic-end found)))
          (saw 'finding (flymake-diagnostic-text found))
          (goto-char (flymake-diagnostic-beg found))
          (let ((hover (jsonrpc-request (eglot--current-server-or-lose) :textDocument/hover
                                        (eglot--TextDocumentPositionParams))))
            (saw 'hover (eglot--hover-info (plist-get hover :contents) (plist-get hover :range))))
          ;; The first fix, as a reader who takes what is offered.
          (let ((actions (eglot-code-actions (flymake-diagnostic-beg found) (flymake-diagnostic-end found) "quickfix" nil)))
            (saw 'fixes (vconcat (mapcar (lambda (action) (plist-get action :title)) actions)))
            (eglot--apply-workspace-edit (plist-get (aref (vconcat actions) 0) :edit)))
          (told)
          (await "the fix" (lambda () (null (flymake-diagnostics))))
          (saw 'mended (line-text line))
          ;; The drawing, in a buffer of its own; it follows the text.
          (let ((drawn (lambda (wanted)
                         (told)
                         (with-current-buffer "*trialfit drawing: kiosk.trialfit*"
                           (and (string-match-p (regexp-quote wanted) (buffer-string)) (buffer-string))))))
            (trialfit-drawing)
            (saw 'drawing (await "the drawing" (lambda () (funcall drawn "battery house"))))
            (save-excursion
              (goto-char (point-min))
              (search-forward "battery house")
              (insert "s")
              (await "the next drawing" (lambda () (funcall drawn "battery houses")))
              (delete-char -1))
            (told))
          ;; Untidy, then tidied.
          (goto-char (point-min))
          (forward-line line)
          (delete-region (point) (line-end-position))
          (insert "\tsize   4mm²")
          (told)
          (eglot-format-buffer)
          (saw 'formatted (line-text line))
          ;; What may follow a half-typed word.
          (goto-char (point-min))
          (forward-line line)
          (end-of-line)
          (insert "\n  insul")
          (told)
          (let ((table (nth 2 (eglot-completion-at-point))))
            (saw 'completions (vconcat (mapcar #'substring-no-properties (all-completions "insul" table)))))
          (delete-region (line-beginning-position) (1+ (line-end-position)))
          (told)
          (goto-char (point-min))
          (search-forward "battery house")
          (backward-char 2)
          (eglot-rename "leisure")
          (saw 'renamed (buffer-substring-no-properties (point-min) (point-max))))
        (saw 'indented
             (with-temp-buffer
               (trialfit-mode)
               (insert "job \"one\"\nnumber 1\nruns-for 3 h\n\nheater reader\ndatasheet ?\n  exhaust of reader\n")
               (indent-region (point-min) (point-max))
               (buffer-string)))
        (saw 'commented
             (with-temp-buffer
               (trialfit-mode)
               (insert "  size 4 mm²")
               (comment-region (point-min) (point-max))
               (buffer-string)))
        (finish 0))
    (error (saw 'missing (error-message-string fault)) (finish 1))))
