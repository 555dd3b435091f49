// The page with the program inside: first who carries its requests, then the page itself.

import "./module_carrier.js";
import "../../src/serve/page/main.js";
