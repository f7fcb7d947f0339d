"""The types of the library: what ``load`` returns, what each command answers with its rows, and what they hold.

``Study`` is a layout under study, ``Layout`` what its files say, table by table; ``Answer`` is what all answers can do.
A ``Document`` is what an answer says, as sentences, ``Table``s and lists, from which every format is made.
Numbers are in the units that the names of the fields end with: ``length_m`` in metres, ``short_a`` in amperes.
"""

# ruff: noqa: I001 - a module of several names keeps its line

from __future__ import annotations

from typing import TYPE_CHECKING

from blockcheck.core.lazy import lazily as _lazily

if TYPE_CHECKING:
    from blockcheck.analysis.study import Study as Study
    from blockcheck.analysis.not_modelled import NotModelled as NotModelled
    from blockcheck.analysis.power.defaults import Default as Default
    from blockcheck.analysis.difference.rewiring import Step as Step
    from blockcheck.analysis.difference.tables import Change as Change
    from blockcheck.analysis.bench.tolerance import Tolerance as Tolerance
    from blockcheck.answers.answer import Answer as Answer
    from blockcheck.answers.checking.basis import Basis as Basis
    from blockcheck.answers.workshop.bench import (
        BenchAnswer as BenchAnswer,
        Setup as Setup,
        SheetFault as SheetFault,
        Besides as Besides,
        Seen as Seen,
        Untold as Untold,
    )
    from blockcheck.answers.workshop.steps import SheetStep as SheetStep, SheetTrack as SheetTrack
    from blockcheck.answers.workshop.book import BookAnswer as BookAnswer, BookFile as BookFile
    from blockcheck.answers.asleep import Sleep as Sleep
    from blockcheck.answers.budget import (
        BudgetAnswer as BudgetAnswer,
        FitRow as FitRow,
        LoadRow as LoadRow,
        ScenarioBudget as ScenarioBudget,
    )
    from blockcheck.answers.channels import (
        ChannelMap as ChannelMap,
        ChannelRow as ChannelRow,
        SpareRow as SpareRow,
        UndetectedRow as UndetectedRow,
    )
    from blockcheck.answers.checking.report import (
        AcceptedRow as AcceptedRow,
        EditRow as EditRow,
        FindingRow as FindingRow,
        RelatedRow as RelatedRow,
    )
    from blockcheck.answers.checking.check import CheckAnswer as CheckAnswer, Held as Held
    from blockcheck.answers.difference.changes import (
        BudgetChange as BudgetChange,
        CheckChanges as CheckChanges,
        FindingChange as FindingChange,
        FindingChanges as FindingChanges,
        LabelChange as LabelChange,
        ValueChange as ValueChange,
    )
    from blockcheck.answers.difference.compare import CompareAnswer as CompareAnswer
    from blockcheck.answers.document import (
        Brief as Brief,
        Cards as Cards,
        Contents as Contents,
        Document as Document,
        Excerpts as Excerpts,
        Facts as Facts,
        Figure as Figure,
        Findings as Findings,
        Form as Form,
        Item as Item,
        Lines as Lines,
        Listing as Listing,
        Quoted as Quoted,
        Rank as Rank,
        Says as Says,
        Section as Section,
        Terms as Terms,
        Todo as Todo,
        Verdict as Verdict,
    )
    from blockcheck.answers.tables import Column as Column, Table as Table
    from blockcheck.answers.draw import Drawing as Drawing
    from blockcheck.drawing.shapes import Box as Box, Line as Line, Text as Text
    from blockcheck.answers.each import EachAnswer as EachAnswer, EachRow as EachRow
    from blockcheck.answers.explain import (
        InnerKey as InnerKey,
        KeyAnswer as KeyAnswer,
        Reference as Reference,
        RuleAnswer as RuleAnswer,
    )
    from blockcheck.answers.explaining.words import WordAnswer as WordAnswer
    from blockcheck.answers.isolate import IsolateAnswer as IsolateAnswer, Unintended as Unintended
    from blockcheck.answers.standing import (
        DistrictLoad as DistrictLoad,
        StateAnswer as StateAnswer,
        SwitchState as SwitchState,
    )
    from blockcheck.answers.start.new import NewLayout as NewLayout
    from blockcheck.answers.page.page import PageAnswer as PageAnswer
    from blockcheck.answers.page.rows import (
        PageBar as PageBar,
        PageBlock as PageBlock,
        PageContact as PageContact,
        PageDistrict as PageDistrict,
        PageFaults as PageFaults,
        PageLine as PageLine,
        PageState as PageState,
        PageStep as PageStep,
        PageSwitch as PageSwitch,
        PageTerminal as PageTerminal,
        PageTests as PageTests,
        PageTrain as PageTrain,
        PageWay as PageWay,
    )
    from blockcheck.answers.workshop.panel import Hole as Hole, PanelAnswer as PanelAnswer, Plate as Plate
    from blockcheck.answers.power import PowerAnswer as PowerAnswer, PowerRow as PowerRow, Probe as Probe
    from blockcheck.answers.difference.retest import Retest as Retest
    from blockcheck.answers.states import (
        BlockState as BlockState,
        DistrictChange as DistrictChange,
        TrainState as TrainState,
    )
    from blockcheck.answers.workshop.strips import Clamp as Clamp, Strip as Strip, WireEnd as WireEnd
    from blockcheck.answers.workshop.drift import Drift as Drift
    from blockcheck.answers.workshop.trace import (
        Candidate as Candidate,
        MaterialFactor as MaterialFactor,
        NextTest as NextTest,
        Prediction as Prediction,
        SuspectFault as SuspectFault,
        Told as Told,
        TraceAnswer as TraceAnswer,
    )
    from blockcheck.answers.wake import DistrictWaking as DistrictWaking, Stage as Stage, WakeAnswer as WakeAnswer
    from blockcheck.answers.workshop.where import (
        Beside as Beside,
        LooksThere as LooksThere,
        WhereAnswer as WhereAnswer,
        WireHere as WireHere,
    )
    from blockcheck.answers.workshop.piece import End as End, Piece as Piece
    from blockcheck.answers.workshop.wires import (
        Breaker as Breaker,
        Fitted as Fitted,
        Fuse as Fuse,
        Part as Part,
        LeadTaken as LeadTaken,
        Saving as Saving,
        Sums as Sums,
        Total as Total,
        WireList as WireList,
    )
    from blockcheck.core.findings import (
        Accepted as Accepted,
        Edit as Edit,
        Finding as Finding,
        Label as Label,
        Laxer as Laxer,
        Milder as Milder,
        Off as Off,
        Rewrite as Rewrite,
        Severity as Severity,
        Unchecked as Unchecked,
    )
    from blockcheck.core.spans import Place as Place
    from blockcheck.model.layout import (
        About as About,
        Accept as Accept,
        Across as Across,
        Block as Block,
        Board as Board,
        BoardType as BoardType,
        Booster as Booster,
        ChannelRef as ChannelRef,
        Colours as Colours,
        District as District,
        Expect as Expect,
        Expected as Expected,
        Feed as Feed,
        Single as Single,
        Group as Group,
        Harness as Harness,
        Interlock as Interlock,
        Isolator as Isolator,
        Joint as Joint,
        Layout as Layout,
        Limits as Limits,
        Load as Load,
        Panel as Panel,
        PoleRef as PoleRef,
        Rail as Rail,
        Run as Run,
        Scenario as Scenario,
        Selector as Selector,
        Train as Train,
        Turnout as Turnout,
        Wire as Wire,
    )
    from blockcheck.rules import Example as Example
else:
    __all__, __getattr__, __dir__ = _lazily(
        __name__,
        {
            "blockcheck.analysis.study": "Study",
            "blockcheck.analysis.not_modelled": "NotModelled",
            "blockcheck.analysis.power.defaults": "Default",
            "blockcheck.analysis.difference.rewiring": "Step",
            "blockcheck.analysis.difference.tables": "Change",
            "blockcheck.analysis.bench.tolerance": "Tolerance",
            "blockcheck.answers.answer": "Answer",
            "blockcheck.answers.checking.basis": "Basis",
            "blockcheck.answers.workshop.bench": "BenchAnswer Besides Seen Setup SheetFault Untold",
            "blockcheck.answers.workshop.steps": "SheetStep SheetTrack",
            "blockcheck.answers.workshop.book": "BookAnswer BookFile",
            "blockcheck.answers.asleep": "Sleep",
            "blockcheck.answers.budget": "BudgetAnswer FitRow LoadRow ScenarioBudget",
            "blockcheck.answers.channels": "ChannelMap ChannelRow SpareRow UndetectedRow",
            "blockcheck.answers.checking.report": "AcceptedRow EditRow FindingRow RelatedRow",
            "blockcheck.answers.checking.check": "CheckAnswer Held",
            "blockcheck.answers.difference.changes": "BudgetChange CheckChanges FindingChange FindingChanges "
            "LabelChange ValueChange",
            "blockcheck.answers.difference.compare": "CompareAnswer",
            "blockcheck.answers.document": "Brief Cards Contents Document Excerpts Facts Figure Findings Form Item "
            "Lines Listing Quoted Rank Says Section Terms Todo Verdict",
            "blockcheck.answers.tables": "Column Table",
            "blockcheck.answers.draw": "Drawing",
            "blockcheck.drawing.shapes": "Box Line Text",
            "blockcheck.answers.each": "EachAnswer EachRow",
            "blockcheck.answers.explain": "InnerKey KeyAnswer Reference RuleAnswer",
            "blockcheck.answers.explaining.words": "WordAnswer",
            "blockcheck.answers.isolate": "IsolateAnswer Unintended",
            "blockcheck.answers.standing": "DistrictLoad StateAnswer SwitchState",
            "blockcheck.answers.start.new": "NewLayout",
            "blockcheck.answers.page.page": "PageAnswer",
            "blockcheck.answers.page.rows": "PageBar PageBlock PageContact PageDistrict PageFaults PageLine PageState "
            "PageStep PageSwitch PageTerminal PageTests PageTrain PageWay",
            "blockcheck.answers.workshop.panel": "Hole PanelAnswer Plate",
            "blockcheck.answers.power": "PowerAnswer PowerRow Probe",
            "blockcheck.answers.difference.retest": "Retest",
            "blockcheck.answers.states": "BlockState DistrictChange TrainState",
            "blockcheck.answers.workshop.strips": "Clamp Strip WireEnd",
            "blockcheck.answers.workshop.drift": "Drift",
            "blockcheck.answers.workshop.trace": "Candidate MaterialFactor NextTest Prediction SuspectFault Told "
            "TraceAnswer",
            "blockcheck.answers.wake": "DistrictWaking Stage WakeAnswer",
            "blockcheck.answers.workshop.where": "Beside LooksThere WhereAnswer WireHere",
            "blockcheck.answers.workshop.piece": "End Piece",
            "blockcheck.answers.workshop.wires": "Breaker Fitted Fuse LeadTaken Part Saving Sums Total WireList",
            "blockcheck.core.findings": "Accepted Edit Finding Label Laxer Milder Off Rewrite Severity Unchecked",
            "blockcheck.core.spans": "Place",
            "blockcheck.model.layout": "About Accept Across Block Board BoardType Booster ChannelRef Colours District "
            "Expect Expected Feed Group Harness Interlock Isolator Joint Layout Limits Load Panel PoleRef Rail Run "
            "Scenario Selector Single Train Turnout Wire",
            "blockcheck.rules": "Example",
        },
    )
