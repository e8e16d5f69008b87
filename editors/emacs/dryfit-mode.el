;;; dryfit-mode.el --- Jobs of fuel-fired air heaters -*- lexical-binding: t; coding: utf-8 -*-

;; Version: 0.1.0
;; Package-Requires: ((emacs "27.1"))
;; Keywords: languages
;; SPDX-License-Identifier: MIT

;;; Commentary:

;; Colours, indentation and comments of `.dryfit' files, the language server for eglot, and a job's drawing.  What the
;; language means is the server's business; nothing is judged here.
;;
;; A text without findings is not an approval: the heater maker's instructions, local codes and licensed practice come
;; first.

;;; Code:

(require 'dryfit-settings)
(require 'dryfit-words)

(defcustom dryfit-command '("dryfit" "serve")
  "The command that starts the language server."
  :group 'dryfit
  :type '(repeat string)
  :risky t)

(defconst dryfit-mode--continues "[:word:]°²³/%'_-"
  "What a word goes on with.")

(defun dryfit-mode--one-of (words)
  "A pattern for one of WORDS, whole; its first group is the word."
  (concat "\\(?:^\\|[^" dryfit-mode--continues "]\\)"
          (regexp-opt words t)
          "\\(?:$\\|[^" dryfit-mode--continues "]\\)"))

(defun dryfit-mode--at-start (before words)
  "A pattern for one of WORDS, whole, behind BEFORE.
Its first group is the word."
  (concat "^" before (regexp-opt words t) "\\(?:$\\|[^" dryfit-mode--continues "]\\)"))

(defconst dryfit-mode--header
  (dryfit-mode--at-start "" dryfit-words-headers)
  "A line that starts a block.")

(defun dryfit-mode--again (pattern face)
  "Keyword for PATTERN in FACE.
The letter behind one match may stand before the next."
  `(,(lambda (limit)
       (when (re-search-forward pattern limit t)
         (goto-char (match-end 1))
         t))
    1 ,face))

(defconst dryfit-mode--font-lock
  `((,(dryfit-mode--at-start "" dryfit-words-of-files) 1 font-lock-preprocessor-face)
    (,(concat "^datasheet[ \t]+" (regexp-opt dryfit-words-sheets t) "\\_>") 1 font-lock-type-face)
    (,dryfit-mode--header
     (1 font-lock-keyword-face)
     (,(concat "[." dryfit-mode--continues "]+")
      (progn (goto-char (match-end 1)) nil) nil
      (0 (if (member (match-string 0) '("of" "as")) font-lock-builtin-face font-lock-function-name-face))))
    (,(dryfit-mode--at-start "[ \t]+" dryfit-words-properties) 1 font-lock-variable-name-face)
    ,(dryfit-mode--again
      (concat "[0-9][ \t]*" (regexp-opt dryfit-words-units t) "\\(?:$\\|[^" dryfit-mode--continues "]\\)")
      'font-lock-type-face)
    ,(dryfit-mode--again (dryfit-mode--one-of dryfit-words-directions) 'font-lock-constant-face)
    ,(dryfit-mode--again (dryfit-mode--one-of dryfit-words-reserved) 'font-lock-builtin-face)
    ,(dryfit-mode--again (dryfit-mode--one-of dryfit-words-values) 'font-lock-constant-face)
    ("±\\|\\.\\.\\|…\\|\\?" 0 font-lock-warning-face))
  "What is coloured, by shape and by the language's own words.")

(defvar dryfit-mode-syntax-table
  (let ((table (make-syntax-table)))
    (modify-syntax-entry ?- "_" table)
    (modify-syntax-entry ?/ "_" table)
    (modify-syntax-entry ?% "_" table)
    (modify-syntax-entry ?' "_" table)
    (modify-syntax-entry ?° "_" table)
    (modify-syntax-entry ?. "." table)
    (modify-syntax-entry ?\\ "." table)
    (modify-syntax-entry ?\" "." table)
    (modify-syntax-entry ?# "." table)
    (modify-syntax-entry ?\n ">" table)
    table)
  "Syntax of `.dryfit' files; texts and comments are found line by line.")

(defconst dryfit-mode--propertize
  (syntax-propertize-rules
   ;; A quote that is not closed ends with its line; a text and a comment hold no other.
   ("\\(\"\\)[^\"\n]*\\(\"\\|$\\)"
    (0 (ignore
        (unless (nth 8 (save-excursion (syntax-ppss (match-beginning 0))))
          (put-text-property (match-beginning 1) (match-end 1) 'syntax-table (string-to-syntax "|"))
          (let ((end (if (< (match-beginning 2) (match-end 2)) (match-beginning 2) (match-end 0))))
            (when (< end (point-max))
              (put-text-property end (1+ end) 'syntax-table (string-to-syntax "|"))))))))
   ("\\(?:^\\|[ \t]\\)\\(#\\)" (1 "<")))
  "Marks texts, and comments at a line's start and behind a blank.")

(defun dryfit-mode-indent-line ()
  "Indent the line: headers at the margin, everything below them one step in.
Where the line already stands there, move it to the other place, since what a
half-typed line will be nobody knows."
  (interactive)
  (let* ((below (save-excursion
                  (forward-line 0)
                  (and (not (bobp))
                       (progn (forward-line -1) t)
                       (looking-at-p (concat "[ \t]+[^ \t\n]\\|" dryfit-mode--header)))))
         (header (save-excursion
                   (back-to-indentation)
                   (and (looking-at (substring dryfit-mode--header 1))
                        ;; `datasheet' also starts a line of a heater.
                        (or (not (member (match-string 1) dryfit-words-properties))
                            (looking-at-p (concat "datasheet[ \t]+" (regexp-opt dryfit-words-sheets t) "[ \t]"))))))
         (wanted (if (and below (not header)) 2 0))
         (again (and (eq last-command 'indent-for-tab-command) (= (current-indentation) wanted))))
    (let ((from-end (- (point-max) (point))))
      (indent-line-to (if again (- 2 wanted) wanted))
      (when (> (- (point-max) from-end) (point))
        (goto-char (- (point-max) from-end))))))

(defvar dryfit-mode--imenu
  `((nil ,(concat dryfit-mode--header ".*") 0))
  "The headers of a job.")

;;;###autoload
(define-derived-mode dryfit-mode prog-mode "dryfit"
  "Major mode for `.dryfit' files: jobs of fuel-fired air heaters."
  (setq-local comment-start "# ")
  (setq-local comment-end "")
  (setq-local comment-start-skip "#+[ \t]*")
  (setq-local indent-tabs-mode nil)
  (setq-local tab-width 2)
  (setq-local indent-line-function #'dryfit-mode-indent-line)
  (setq-local electric-indent-inhibit t)
  (setq-local syntax-propertize-function dryfit-mode--propertize)
  (setq-local imenu-generic-expression dryfit-mode--imenu)
  (setq-local font-lock-defaults '(dryfit-mode--font-lock)))

;;;###autoload
(add-to-list 'auto-mode-alist '("\\.dryfit\\'" . dryfit-mode))

(defun dryfit-mode--server (&rest _)
  "How eglot starts the server."
  (append dryfit-command (list :initializationOptions (dryfit-settings))))

(defvar eglot-server-programs)
(with-eval-after-load 'eglot
  (add-to-list 'eglot-server-programs '(dryfit-mode . dryfit-mode--server)))

;; The drawing.

(declare-function eglot-current-server "eglot")
(declare-function eglot--TextDocumentPositionParams "eglot")
(declare-function jsonrpc-async-request "jsonrpc")

(defconst dryfit-drawing--rest 0.3
  "How many seconds the text must rest before it is drawn anew.")

(defvar-local dryfit-drawing--timer nil "Runs out when the text has rested.")

(define-derived-mode dryfit-drawing-mode special-mode "dryfit drawing"
  "A job's drawing: a picture where this Emacs shows SVG, else its text."
  (setq-local cursor-type nil)
  (setq-local truncate-lines t))

(defun dryfit-drawing--buffer ()
  "The name of the buffer that shows the drawing of this one."
  (format "*dryfit drawing: %s*" (buffer-name)))

(defun dryfit-drawing--put (buffer svg)
  "Show SVG in BUFFER, where it stood before."
  (when (buffer-live-p buffer)
    (with-current-buffer buffer
      (let ((inhibit-read-only t) (where (point)))
        (erase-buffer)
        (if (and (display-graphic-p) (image-type-available-p 'svg))
            (insert-image (create-image (encode-coding-string svg 'utf-8) 'svg t) "drawing")
          (insert svg))
        (goto-char (min where (point-max)))))))

(defun dryfit-drawing--ask (buffer)
  "Ask the server for the drawing of the current buffer, to be shown in BUFFER."
  (let ((server (or (eglot-current-server) (user-error "No language server serves this buffer: `M-x eglot'")))
        (window (get-buffer-window buffer t)))
    (jsonrpc-async-request
     server :dryfit/drawing
     (append (eglot--TextDocumentPositionParams)
             (and window (display-graphic-p)
                  (list :width (max 720 (min 2400 (window-body-width window t))))))
     ;; Behind the edits that are still to be sent.
     :deferred :dryfit/drawing
     :success-fn (lambda (answer)
                   (when answer (dryfit-drawing--put buffer (plist-get answer :svg))))
     :error-fn (lambda (fault) (message "dryfit: no drawing: %s" (plist-get fault :message))))))

(defun dryfit-drawing--changed (&rest _)
  "Draw anew once the text rests, as long as somebody looks."
  (when (timerp dryfit-drawing--timer)
    (cancel-timer dryfit-drawing--timer))
  (let ((job (current-buffer)) (buffer (get-buffer (dryfit-drawing--buffer))))
    (if (not buffer)
        (remove-hook 'after-change-functions #'dryfit-drawing--changed t)
      (setq dryfit-drawing--timer
            (run-with-timer dryfit-drawing--rest nil
                            (lambda ()
                              (when (and (buffer-live-p job) (buffer-live-p buffer))
                                (with-current-buffer job
                                  (when (eglot-current-server)
                                    (dryfit-drawing--ask buffer))))))))))

(defun dryfit-drawing ()
  "Show the job's drawing beside its text, and draw it anew when the text changes."
  (interactive)
  (require 'eglot)
  (unless (eglot-current-server)
    (user-error "No language server serves this buffer: `M-x eglot'"))
  (let ((buffer (get-buffer-create (dryfit-drawing--buffer))))
    (with-current-buffer buffer
      (unless (derived-mode-p 'dryfit-drawing-mode)
        (dryfit-drawing-mode)))
    (display-buffer buffer)
    (add-hook 'after-change-functions #'dryfit-drawing--changed nil t)
    (dryfit-drawing--ask buffer)))

(provide 'dryfit-mode)
;;; dryfit-mode.el ends here
