#!/usr/bin/env python3
"""The characters of bytes 80 to FF in the DOS code pages, from Python's codecs (cp437, ...), which are made from the
mappings of the Unicode consortium (https://www.unicode.org/Public/MAPPINGS/VENDORS/MICSFT/PC/).

U+FFFD stands where a page has no character, or only a control character in place of one. Writes code_pages.json; with --check it asks anew and compares.
"""

import re
import sys

from frozen import keep_or_check

PAGES = [437, 720, 737, 775, 850, 852, 855, 857, 858, 860, 861, 862, 863, 864, 865, 866, 869]

if __name__ == "__main__":
    high = bytes(range(0x80, 0x100))
    answers = {
        str(page): re.sub("[\x80-\x9f]", "\ufffd", high.decode(f"cp{page}", errors="replace")) for page in PAGES
    }
    sys.exit(keep_or_check("code_pages.json", "Python's codecs cp437 to cp869", answers, 0.0))
