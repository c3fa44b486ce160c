"""What people fill in, by page."""

from fabjobs.forms.aperture import ApertureForm
from fabjobs.forms.as_built import AsBuiltForm
from fabjobs.forms.change import ChangeForm
from fabjobs.forms.found import FoundForm
from fabjobs.forms.improve import ImproveForm
from fabjobs.forms.joins import TakeJoinsForm
from fabjobs.forms.metal import (
    AsPlannedForm,
    BoughtForm,
    LineForm,
    OffcutForm,
    PutAwayForm,
    SheetForm,
    SpoiledForm,
    StrikeForm,
)
from fabjobs.forms.new_job import NewJobForm
from fabjobs.forms.paper import PaperForm
from fabjobs.forms.passwords import OwnPasswordForm
from fabjobs.forms.people import InviteForm, JoinForm, RoleForm
from fabjobs.forms.period import PeriodForm
from fabjobs.forms.photos import PhotoForm
from fabjobs.forms.rack import CountForm, LabelsForm, PlaceForm, RackSearchForm, ScrapForm, StockBoughtForm
from fabjobs.forms.set_up import SetUpForm
from fabjobs.forms.settings import RatesForm, SheetPriceForm, ShopForm
from fabjobs.forms.shrinkage import TakeShrinkageForm
from fabjobs.forms.sign_in import SignInForm
from fabjobs.forms.spoiled import SpoilForm
from fabjobs.forms.week import WeekForm

__all__ = [
    "ApertureForm",
    "AsBuiltForm",
    "AsPlannedForm",
    "BoughtForm",
    "ChangeForm",
    "CountForm",
    "FoundForm",
    "ImproveForm",
    "InviteForm",
    "JoinForm",
    "LabelsForm",
    "LineForm",
    "NewJobForm",
    "OffcutForm",
    "OwnPasswordForm",
    "PaperForm",
    "PeriodForm",
    "PhotoForm",
    "PlaceForm",
    "PutAwayForm",
    "RackSearchForm",
    "RatesForm",
    "RoleForm",
    "ScrapForm",
    "SetUpForm",
    "SheetForm",
    "SheetPriceForm",
    "ShopForm",
    "SignInForm",
    "SpoilForm",
    "SpoiledForm",
    "StockBoughtForm",
    "StrikeForm",
    "TakeJoinsForm",
    "TakeShrinkageForm",
    "WeekForm",
]
