"""Translation (gettext catalogues in `locale/`, read by Babel) and formats, for every page and paper."""

from intake.i18n.catalogues import Translations, has_catalogue, languages, native_name, translations
from intake.i18n.messages import N_, _, current_language, use

__all__ = [
    "N_",
    "Translations",
    "_",
    "current_language",
    "has_catalogue",
    "languages",
    "native_name",
    "translations",
    "use",
]
