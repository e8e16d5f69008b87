;;; trialfit-mode.el --- Jobs of fuel-fired air heaters -*- lexical-binding: t; coding: utf-8 -*-

;; Version: 0.1.0
;; Package-Requires: ((emacs "27.1"))
;; Keywords: languages
;; SPDX-License-Identifier: MIT

;;; Commentary:

;; Colours, indentation and comments of `.trialfit' files, the language server for eglot, and a job's drawing.  What the
;; language means is the server's business.  Nothing is judged here.
;;
;; A text without findings is not an approval.  The heater maker's instructions, local codes and licensed practice come
;; first.

;;; Code:

(require 'trialfit-settings)
(require 'trialfit-words)

(defcustom trialfit-command '("trialfit" "serve")
  "The command that starts the language server."
  :group 'trialfit
  :type '(repeat string)
  :risky t)

(defconst trialfit-mode--continues "[:word:]°²³/%'_-"
  "What a word goes on with.")

(defun trialfit-mode--one-of (words)
  "A pattern for one of WORDS, whole; its first group is the word."
  (concat "\\(?:^\\|[^" trialfit-mode--continues "]\\)"
          (regexp-opt words t)
          "\\(?:$\\|[^" trialfit-mode--continues "]\\)"))

(defun trialfit-mode--at-start (before words)
  "A pattern for one of WORDS, whole, behind BEFORE.
Its first group is the word."
  (concat "^" before (regexp-opt words t) "\\(?:$\\|[^" trialfit-mode--continues "]\\)"))

(defconst trialfit-mode--header
  (trialfit-mode--at-start "" trialfit-words-headers)
  "A line that starts a block.")

(defun trialfit-mode--again (pattern face)
  "Keyword for PATTERN in FACE.
The letter behind one match may stand before the next."
  `(,(lambda (limit)
       (when (re-search-forward pattern limit t)
         (goto-char (match-end 1))
         t))
    1 ,face))

(defconst trialfit-mode--font-lock
  `((,(trialfit-mode--at-start "" trialfit-words-of-files) 1 font-lock-preprocessor-face)
    (,(concat "^datasheet[ \t]+" (regexp-opt trialfit-words-sheets t) "\\_>") 1 font-lock-type-face)
    (,trialfit-mode--header
     (1 font-lock-keyword-face)
     (,(concat "[." trialfit-mode--continues "]+")
      (progn (goto-char (match-end 1)) nil) nil
      (0 (if (member (match-string 0) '("of" "as")) font-lock-builtin-face font-lock-function-name-face))))
    (,(trialfit-mode--at-start "[ \t]+" trialfit-words-properties) 1 font-lock-variable-name-face)
    ,(trialfit-mode--again
      (concat "[0-9][ \t]*" (regexp-opt trialfit-words-units t) "\\(?:$\\|[^" trialfit-mode--continues "]\\)")
      'font-lock-type-face)
    ,(trialfit-mode--again (trialfit-mode--one-of trialfit-words-directions) 'font-lock-constant-face)
    ,(trialfit-mode--again (trialfit-mode--one-of trialfit-words-reserved) 'font-lock-builtin-face)
    ,(trialfit-mode--again (trialfit-mode--one-of trialfit-words-values) 'font-lock-constant-face)
    ("±\\|\\.\\.\\|…\\|\\?" 0 font-lock-warning-face))
  "What is coloured, by shape and by the language's own words.")

(defvar trialfit-mode-syntax-table
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
  "Syntax of `.trialfit' files; texts and comments are found line by line.")

(defconst trialfit-mode--propertize
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

(defun trialfit-mode-indent-line ()
  "Indent the line: headers at the margin, everything below them one step in.
Where the line already stands there, move it to the other place, since what a
half-typed line will be nobody knows."
  (interactive)
  (let* ((below (save-excursion
                  (forward-line 0)
                  (and (not (bobp))
                       (progn (forward-line -1) t)
                       (looking-at-p (concat "[ \t]+[^ \t\n]\\|" trialfit-mode--header)))))
         (header (save-excursion
                   (back-to-indentation)
                   (and (looking-at (substring trialfit-mode--header 1))
                        ;; `datasheet' also starts a line of a heater.
                        (or (not (member (match-string 1) trialfit-words-properties))
                            (looking-at-p (concat "datasheet[ \t]+" (regexp-opt trialfit-words-sheets t) "[ \t]"))))))
         (wanted (if (and below (not header)) 2 0))
         (again (and (eq last-command 'indent-for-tab-command) (= (current-indentation) wanted))))
    (let ((from-end (- (point-max) (point))))
      (indent-line-to (if again (- 2 wanted) wanted))
      (when (> (- (point-max) from-end) (point))
        (goto-char (- (point-max) from-end))))))

(defvar trialfit-mode--imenu
  `((nil ,(concat trialfit-mode--header ".*") 0))
  "The headers of a job.")

;;;###autoload
(define-derived-mode trialfit-mode prog-mode "trialfit"
  "Major mode for `.trialfit' files: jobs of fuel-fired air heaters."
  (setq-local comment-start "# ")
  (setq-local comment-end "")
  (setq-local comment-start-skip "#+[ \t]*")
  (setq-local indent-tabs-mode nil)
  (setq-local tab-width 2)
  (setq-local indent-line-function #'trialfit-mode-indent-line)
  (setq-local electric-indent-inhibit t)
  (setq-local syntax-propertize-function trialfit-mode--propertize)
  (setq-local imenu-generic-expression trialfit-mode--imenu)
  (setq-local font-lock-defaults '(trialfit-mode--font-lock)))

;;;###autoload
(add-to-list 'auto-mode-alist '("\\.trialfit\\'" . trialfit-mode))

(defun trialfit-mode--server (&rest _)
  "How eglot starts the server."
  (append trialfit-command (list :initializationOptions (trialfit-settings))))

(defvar eglot-server-programs)
(with-eval-after-load 'eglot
  (add-to-list 'eglot-server-programs '(trialfit-mode . trialfit-mode--server)))

;; The drawing.

(declare-function eglot-current-server "eglot")
(declare-function eglot--TextDocumentPositionParams "eglot")
(declare-function jsonrpc-async-request "jsonrpc")

(defconst trialfit-drawing--rest 0.3
  "How many seconds the text must rest before it is drawn anew.")

(defvar-local trialfit-drawing--timer nil "Runs out when the text has rested.")

(define-derived-mode trialfit-drawing-mode special-mode "trialfit drawing"
  "A job's drawing: a picture where this Emacs shows SVG, else its text."
  (setq-local cursor-type nil)
  (setq-local truncate-lines t))

(defun trialfit-drawing--buffer ()
  "The name of the buffer that shows the drawing of this one."
  (format "*trialfit drawing: %s*" (buffer-name)))

(defun trialfit-drawing--put (buffer svg)
  "Show SVG in BUFFER, where it stood before."
  (when (buffer-live-p buffer)
    (with-current-buffer buffer
      (let ((inhibit-read-only t) (where (point)))
        (erase-buffer)
        (if (and (display-graphic-p) (image-type-available-p 'svg))
            (insert-image (create-image (encode-coding-string svg 'utf-8) 'svg t) "drawing")
          (insert svg))
        (goto-char (min where (point-max)))))))

(defun trialfit-drawing--ask (buffer)
  "Ask the server for the drawing of the current buffer, to be shown in BUFFER."
  (let ((server (or (eglot-current-server) (user-error "No language server serves this buffer: start it with `M-x eglot'")))
        (window (get-buffer-window buffer t)))
    (jsonrpc-async-request
     server :trialfit/drawing
     (append (eglot--TextDocumentPositionParams)
             (and window (display-graphic-p)
                  (list :width (max 720 (min 2400 (window-body-width window t))))))
     ;; Behind the edits that are still to be sent.
     :deferred :trialfit/drawing
     :success-fn (lambda (answer)
                   (when answer (trialfit-drawing--put buffer (plist-get answer :svg))))
     :error-fn (lambda (fault) (message "trialfit: no drawing: %s" (plist-get fault :message))))))

(defun trialfit-drawing--changed (&rest _)
  "Draw anew once the text rests, as long as somebody looks."
  (when (timerp trialfit-drawing--timer)
    (cancel-timer trialfit-drawing--timer))
  (let ((job (current-buffer)) (buffer (get-buffer (trialfit-drawing--buffer))))
    (if (not buffer)
        (remove-hook 'after-change-functions #'trialfit-drawing--changed t)
      (setq trialfit-drawing--timer
            (run-with-timer trialfit-drawing--rest nil
                            (lambda ()
                              (when (and (buffer-live-p job) (buffer-live-p buffer))
                                (with-current-buffer job
                                  (when (eglot-current-server)
                                    (trialfit-drawing--ask buffer))))))))))

(defun trialfit-drawing ()
  "Show the job's drawing beside its text, and draw it anew when the text changes."
  (interactive)
  (require 'eglot)
  (unless (eglot-current-server)
    (user-error "No language server serves this buffer: start it with `M-x eglot'"))
  (let ((buffer (get-buffer-create (trialfit-drawing--buffer))))
    (with-current-buffer buffer
      (unless (derived-mode-p 'trialfit-drawing-mode)
        (trialfit-drawing-mode)))
    (display-buffer buffer)
    (add-hook 'after-change-functions #'trialfit-drawing--changed nil t)
    (trialfit-drawing--ask buffer)))

(provide 'trialfit-mode)
;;; trialfit-mode.el ends here
