; The lines of a block stand one step in.
(block) @indent.begin
