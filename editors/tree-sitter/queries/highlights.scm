; Colours by shape. A word that the language does not know keeps the text's own colour.
(comment) @comment
(file_word) @keyword.directive
(kind) @keyword
(of) @keyword.operator
(name) @type
(property_word) @property
(direction) @constant.builtin
(reserved) @keyword.operator
(value) @constant
(number) @number
(date) @number
(unit) @type.builtin
(text) @string
(doubt) @operator
(times) @operator
(blank) @constant.builtin
(comma) @punctuation.delimiter
