" Made by editors/generate from the language's own table; edit that, not this.
if exists('b:current_syntax')
  finish
endif
syntax case match
syntax iskeyword @,48-57,192-255,_,-,/,%,39
syntax match trialfitNumber /\v(\k)@<![-−]?\d+(,\d+)*([./]\d+)?/ nextgroup=trialfitUnit skipwhite
syntax match trialfitDate /\v<\d{4}-\d{2}-\d{2}>/
syntax match trialfitUnit /\v\C%(ft3\/min|ft³\/min|imp-gal|BTU\/h|L\/min|W\/m2K|W\/m²K|ft3\/h|ft³\/h|gal\/h|inH2O|kg\/m3|kg\/m³|W\/mK|degC|degF|km\/h|m3\/h|mbar|mohm|m³\/h|AWG|BTU|L\/h|MPa|bar|cfm|cm2|cm²|deg|ft2|ft3|ft²|ft³|gal|in2|in²|kPa|kWh|l\/h|m\/s|min|mm2|mm²|mph|ohm|psi|rad|\/h|Ah|Pa|Wh|cm|ft|hp|in|kW|kg|lb|m2|m3|mA|mL|mV|ml|mm|m²|m³|mΩ|qt|yd|°C|°F|\%|A|K|L|V|W|h|l|m|s|°|Ω)\ze%(\k|[²³°])@!/ contained
syntax match trialfitFile /\v^%(trialfit|follows)>/
syntax match trialfitHeader /\v^%(combustion-air|coolant-line|concession|keep-clear|return-air|datasheet|fuel-line|practice|warm-air|battery|exhaust|opening|vehicle|change|heater|sketch|alarm|cable|space|stock|table|usual|tank|fit|job|kit)\k@!/ nextgroup=trialfitSheet,trialfitName skipwhite
syntax match trialfitName /\v\k+/ contained
syntax match trialfitSheet /\v%(heater|cable|duct|fuse|hose|line|pipe)\k@!/ contained nextgroup=trialfitName skipwhite
syntax match trialfitProperty /\v^\s+\zs%(exhaust-and-air-limit|combustion-air-limit|combustion-pressure|exhaust-temperature|internal-resistance|corrects-altitude|delivery-pressure|second-body-spans|exhaust-clear-of|return-air-limit|suction-pressure|bears-cut-after|least-air-flow|pressure-limit|second-body-at|warm-air-limit|duct-pressure|engine-pickup|exhaust-limit|glow-pin-room|restart-below|standpipe-end|suction-limit|below-lowest|coolant-flow|floor-height|holder-bears|moving-joint|air-changes|bend-radius|clips-every|design-cold|second-body|supplied-by|temperature|charged-by|cuts-below|design-hot|drain-hole|excess-air|file-names|insulation|looked-for|mild-night|other-load|pump-bears|resistance|snow-depth|used-while|datasheet|fitted-on|fuel-rate|joined-to|overheats|pump-tilt|roughness|sensor-at|set-range|starts-at|starts-by|waterline|altitude|asks-for|contents|drawn-by|drawn-on|enclosed|heads-at|measured|nearside|requires|rides-on|runs-for|sheathed|silencer|warm-end|warns-of|ambient|because|bundled|carries|decimal|forward|harness|made-of|offside|outside|passage|read-by|reserve|surface|traffic|up-from|voltage|without|behind|charge|column|cranks|filler|filter|grille|holder|lagged|notice|number|origin|outlet|output|people|rating|return|senses|sensor|shield|sleeve|supply|switch|volume|wanted|warmed|bears|bleed|burns|clamp|depth|draws|feeds|goods|heats|holds|joint|level|limit|mixes|opens|right|rules|seats|sizes|spans|stage|until|valve|warms|asks|back|bare|bend|bore|dose|down|duct|ends|fits|from|fuel|fuse|hose|into|keep|kind|left|line|note|open|pipe|port|pump|ribs|size|tilt|trap|type|fan|run|tee|use|at|by|in|on|up)\k@!/
syntax match trialfitDirection /\v\k@<!%(^\s+)@<!%(nearside|forward|offside|right|back|down|left|up)\k@!/
syntax match trialfitReserved /\v\k@<!%(^\s+)@<!%(unknown|facing|from|here|the|as|at|by|in|of|on|to|x)\k@!/
syntax match trialfitSign /\v±|\+\/?-|\.\.|…|\?/
syntax region trialfitText start=/"/ end=/"\|$/ oneline
syntax match trialfitComment /\v(^|\s)@<=#.*$/
highlight default link trialfitNumber Number
highlight default link trialfitDate Number
highlight default link trialfitUnit Type
highlight default link trialfitFile PreProc
highlight default link trialfitHeader Statement
highlight default link trialfitName Identifier
highlight default link trialfitSheet Structure
highlight default link trialfitProperty Keyword
highlight default link trialfitDirection Constant
highlight default link trialfitReserved Operator
highlight default link trialfitSign Operator
highlight default link trialfitText String
highlight default link trialfitComment Comment
let b:current_syntax = 'trialfit'
